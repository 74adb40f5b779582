#include "viz/options.hpp"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cstdio>

#include "sim/api/case.hpp"
#include "sim/api/error.hpp"

namespace glassbowl::viz {
namespace {

[[noreturn]] void refuse(const std::string& why) {
  throw sim::Error(sim::ErrorKind::input, why);
}

void check_together(const Options& o) {
  if (o.trace.empty() && o.live.empty() && o.lesson.empty() && !o.target.empty())
    refuse("--export needs a trace; `glassbowl run blip -o blip.h5` makes one");
  if (!o.trace.empty() && !o.live.empty()) refuse("give a trace or --live CASE, not both");
  if (!o.sets.empty() && o.live.empty()) refuse("--set changes what --live runs; a trace stays as it is");
  if (!o.live.empty() && !o.target.empty())
    refuse("--export draws a trace; `glassbowl run` makes one of a case, and a live run is recorded with R");
  if (!o.handout.empty() && o.lesson.empty()) refuse("--handout prints a lesson; name one with --lesson");
  if (o.to && o.target.empty()) refuse("--to ends an exported video; give --export OUT.mp4 too");
}

}  // namespace

std::optional<Options> read_options(int count, char** arguments) {
  Options o;
  CLI::App app{
      "Shows what a simulation of a carburetor computed: to scale, in slow motion. In the window F1 lists "
      "the "
      "keys."};
  app.add_option("trace", o.trace,
                 "a trace, finished or still being written, or a case, which runs live; none: start page")
      ->type_name("FILE");
  app.add_option(
         "--live", o.live,
         "run this case as you look: blip, bikes/mule_750, blip+courier_650 (a ride on a bike) or a file")
      ->type_name("CASE");
  app.add_option("--beside", o.beside, "a second trace, or with --live a second case, in step with the first")
      ->type_name("OTHER");
  app.add_option("--set", o.sets, "with --live: change a key, such as carburetor.main.jet.bore='\"1.6 mm\"'")
      ->type_name("KEY=VALUE");

  const std::string look = "What to show";
  app.add_option("--view", o.mode, "cutaway, overlap or small-openings")
      ->check(CLI::IsMember({"cutaway", "overlap", "small-openings"}))
      ->type_name("VIEW")
      ->group(look);
  app.add_option("--at", o.at, "time to begin at [s]")->type_name("TIME")->group(look);
  app.add_option("--rate", o.rate, "simulated seconds per second, 0.0005 to 1; usually 0.05, live 0.1")
      ->check(CLI::Range(0.0005, 1.0))
      ->type_name("RATE")
      ->group(look);
  app.add_option(
         "--lesson", o.lesson,
         "begin with this lesson, such as idle_circuit, or a file; without a trace on a run of its own")
      ->type_name("LESSON")
      ->group(look);
  app.add_option("--lesson-step", o.lesson_step, "at this step; one beyond the last is its question")
      ->type_name("N")
      ->group(look);
  app.add_option("--size", o.size, "of window or picture, such as 1920x1080")->type_name("SIZE")->group(look);
  app.add_flag("--light", o.light, "light instead of dark")->group(look);
  app.add_flag("--print", o.print, "black on white, for paper")->group(look);
  app.add_flag("--large-type", o.large_type, "for a projector")->group(look);
  app.add_option("--font", o.font, "instead of Inter")->type_name("FILE")->group(look);

  const std::string exporting = "Export, without a window";
  app.add_option("--export", o.target,
                 "OUT.png, OUT.mp4 or OUT.gif (videos need ffmpeg), OUT.wav: what it sounds like, OUT.html: "
                 "a page for any "
                 "browser")
      ->type_name("OUT")
      ->group(exporting);
  app.add_option("--to", o.to, "time at which a video, a sound or a page ends [s]")
      ->type_name("TIME")
      ->group(exporting);
  app.add_option("--handout", o.handout,
                 "OUT.html or OUT.pdf: the lesson of --lesson on paper, answers on a page of their own")
      ->type_name("OUT")
      ->group(exporting);
  app.add_option("--sheets", o.sheets, "so many exercise sheets in it, each with another main jet")
      ->check(CLI::Range(1, 30))
      ->type_name("N")
      ->group(exporting);
  app.add_option("--distance", o.distance, "of the listener from exhaust and inlet, for OUT.wav [m]")
      ->check(CLI::Range(0.1, 1000.0))
      ->type_name("METRES")
      ->group(exporting);
  app.add_flag("--force", o.force, "replace a file that is there already")->group(exporting);

  const std::string shots = "Pictures of the window itself";
  app.add_option("--screenshot", o.shot, "draw some pictures, write the last with its controls, end")
      ->type_name("OUT.png")
      ->group(shots);
  app.add_option("--pictures", o.pictures, "so many of them; how long they took is printed")
      ->check(CLI::Range(1, 1000000))
      ->type_name("N")
      ->group(shots);
  app.add_option("--pointer", o.pointer, "where the mouse points, as x y in pixels")
      ->expected(2)
      ->type_name("")
      ->group(shots);
  app.add_option("--press", o.keys, "keys to press, such as 'F1' or '2 E', named as in the list of keys")
      ->type_name("KEYS")
      ->group(shots);
  try {
    app.parse(count, arguments);
  } catch (const CLI::CallForHelp& wanted) {
    app.exit(wanted);
    return std::nullopt;
  } catch (const CLI::ParseError& error) {
    std::vector<std::string> options;
    for (const auto* option : app.get_options()) options.push_back("--" + option->get_single_name());
    std::string nearest;
    for (int i = count - 1; i > 0; --i) {
      const std::string word = std::string(arguments[i]).substr(0, std::string(arguments[i]).find('='));
      if (!word.starts_with("--") || std::find(options.begin(), options.end(), word) != options.end())
        continue;
      if (const auto like = sim::nearest_name(word, options); !like.empty())
        nearest = "; " + word + ": did you mean " + like + "?";
    }
    refuse(std::string(error.what()) + nearest + "; --help lists what can be asked");
  }
  check_together(o);
  return o;
}

}  // namespace glassbowl::viz
