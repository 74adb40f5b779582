#include <CLI/CLI.hpp>
#include <cstdio>
#include <exception>
#include <memory>

#include "sim/api/error.hpp"
#include "viz/display.hpp"
#include "viz/export.hpp"
#include "viz/lessons/folder.hpp"
#include "viz/look/typeface.hpp"
#include "viz/source/trace_source.hpp"
#include "viz/window.hpp"

namespace {

using namespace glassbowl;

struct Options {
  std::string trace, beside, live, target, size = "1280x720", font, lesson, mode = "cutaway", shot, keys;
  std::vector<std::string> sets;
  std::vector<float> pointer;
  std::size_t lesson_step = 1;
  int pictures = 60;
  double at = 0.0, from = 0.0, to = 0.0, rate = 1.0 / 20.0;
  bool light = false, large = false, force = false;
};

}  // namespace

int main(int count, char** arguments) try {
  CLI::App app{"Shows what a simulation of a carburetor computed, to scale and in slow motion."};
  Options o;
  app.add_option("trace", o.trace, "trace to show, finished or still being written");
  app.add_option("--beside", o.beside,
                 "a second trace, or with --live a second case, shown beside the first in step");
  auto* target =
      app.add_option("--export", o.target, "draw to OUT.png, OUT.mp4 or OUT.gif instead of a window");
  auto* at = app.add_option("--at", o.at, "time of the picture, or of the video's start [s]");
  auto* to = app.add_option("--to", o.to, "time at which the video ends [s]");
  app.add_option("--rate", o.rate, "simulated seconds per second, 0.0005 to 1")
      ->check(CLI::Range(0.0005, 1.0));
  app.add_option("--size", o.size, "of the picture or window, such as 1920x1080");
  app.add_option("--font", o.font, "font file instead of Inter");
  app.add_option("--view", o.mode, "what to show: cutaway, overlap or small-openings")
      ->check(CLI::IsMember({"cutaway", "overlap", "small-openings"}));
  app.add_flag("--light", o.light, "light instead of dark");
  app.add_flag("--large-type", o.large, "for a projector");
  app.add_flag("--force", o.force, "with --export: replace a file that is there already");
  app.add_option("--live", o.live, "run this case as you look, instead of a trace");
  app.add_option("--set", o.sets, "with --live: change a key, such as carburetor.main.jet.bore='\"1.6 mm\"'");
  app.add_option("--lesson", o.lesson, "start with this lesson, a name such as idle_circuit or a file");
  app.add_option("--lesson-step", o.lesson_step, "and this step of it; one beyond the last is its question");
  app.add_option("--screenshot", o.shot,
                 "open the window, draw some pictures, write the last with its controls as PNG, end");
  app.add_option("--pictures", o.pictures, "so many before the screenshot; frame times are printed")
      ->check(CLI::Range(1, 1000000));
  app.add_option("--pointer", o.pointer, "with --screenshot: where the mouse points, as x y in pixels")
      ->expected(2);
  app.add_option("--press", o.keys,
                 "keys pressed at the start, such as 'F1' or '2 E', named as in the list of keys");
  CLI11_PARSE(app, count, arguments);
  const auto [width, height] = viz::read_size(o.size);
  if (o.trace.empty() == o.live.empty())
    throw sim::Error(sim::ErrorKind::input,
                     "give a trace, or --live CASE; `glassbowl run blip -o blip.h5` makes a trace");

  std::vector<viz::LiveSource*> live;
  const auto clock = o.live.empty() ? nullptr : std::make_shared<sim::LiveClock>();
  const auto open = [&](const std::string& name) -> std::unique_ptr<viz::Source> {
    if (o.live.empty()) return std::make_unique<viz::TraceSource>(name);
    auto source = std::make_unique<viz::LiveSource>(name, o.sets, clock);
    live.push_back(source.get());
    return source;
  };
  std::unique_ptr<viz::Source> first = open(o.live.empty() ? o.trace : o.live), second;
  if (!o.beside.empty()) second = open(o.beside);
  if (*target || !o.shot.empty())
    viz::borrow_display(arguments);
  else
    viz::require_display();
  viz::Typeface face;
  viz::load_typeface(face, o.font.empty() ? std::nullopt : std::optional<std::filesystem::path>(o.font));
  if (!face.notice.empty()) std::fprintf(stderr, "glassbowl-view: %s\n", face.notice.c_str());
  viz::View view(face.font, std::move(first), std::move(second));
  view.dark = !o.light;
  view.large_type = o.large;
  if (o.mode != "cutaway") view.mode = viz::Mode::overlap;
  view.enlarge_overlap = o.mode == "small-openings";
  view.playback.set_rate(o.rate);
  if (o.pointer.size() == 2) view.pointer = {o.pointer[0], o.pointer[1]};
  if (*at) view.playback.go_to(o.at, *view.first().source);
  if (!o.lesson.empty()) {
    const std::filesystem::path given(o.lesson);
    const auto file = std::filesystem::exists(given) ? given : viz::lesson_folder() / (o.lesson + ".toml");
    view.set_lesson(std::make_unique<viz::LessonRun>(viz::read_lesson(file), *view.first().source));
    view.lesson()->go_to(o.lesson_step > 0 ? o.lesson_step - 1 : 0, view.playback);
    if (view.lesson()->at_question()) view.lesson()->show_answer();
  }
  if (*target) {
    viz::ExportPlan plan;
    plan.target = o.target;
    plan.width = width;
    plan.height = height;
    plan.replace = o.force;
    plan.rate = view.lesson() != nullptr ? view.playback.rate : o.rate;
    if (*at)
      plan.from = o.at;
    else if (view.lesson() != nullptr)
      plan.from = view.playback.time;
    if (*to) plan.to = o.to;
    viz::export_view(view, face.font, plan);
    return 0;
  }
  viz::App shell(view, face.font, live, clock);
  std::vector<std::string> problems;
  shell.lessons = viz::read_lessons(viz::lesson_folder(), problems);
  for (const auto& problem : problems) std::fprintf(stderr, "glassbowl-view: %s\n", problem.c_str());
  viz::WindowPlan plan{width, height, o.shot.empty() ? 0 : o.pictures, o.shot, o.keys};
  if (!live.empty()) {
    shell.set_rate(o.rate);
    shell.toggle_playing();
  } else if (!o.shot.empty()) {
    view.playback.playing = true;
  }
  const auto report = viz::run_window(shell, face, plan);
  if (!o.shot.empty())
    std::printf("%zu pictures: median %.1f ms, 99 %% within %.1f ms\n", report.work.count(),
                report.work.percentile(0.5) * 1e3, report.work.percentile(0.99) * 1e3);
  return 0;
} catch (const sim::Error& error) {
  std::fprintf(stderr, "glassbowl-view: %s\n", error.what());
  return error.exit_code();
} catch (const std::exception& error) {
  std::fprintf(stderr, "glassbowl-view: %s\n", error.what());
  return 1;
}
