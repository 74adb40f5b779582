#include <CLI/CLI.hpp>
#include <cstdio>
#include <exception>
#include <memory>

#include "sim/api/error.hpp"
#include "viz/display.hpp"
#include "viz/export.hpp"
#include "viz/look/typeface.hpp"
#include "viz/source/trace_source.hpp"

namespace {

using namespace glassbowl;

struct Options {
  std::string trace, beside, live, target, size = "1280x720", font, lesson, mode = "cutaway";
  double at = 0.0, from = 0.0, to = 0.0, rate = 1.0 / 20.0;
  bool light = false;
};

}  // namespace

int main(int count, char** arguments) try {
  CLI::App app{"Shows what a simulation of a carburetor computed, to scale and in slow motion."};
  Options o;
  app.add_option("trace", o.trace, "trace to show, finished or still being written");
  app.add_option("--beside", o.beside, "a second trace, shown beside the first in step");
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
  CLI11_PARSE(app, count, arguments);
  const auto [width, height] = viz::read_size(o.size);
  if (o.trace.empty())
    throw sim::Error(sim::ErrorKind::input, "give a trace; `glassbowl run blip -o blip.h5` makes one");

  auto first = std::make_unique<viz::TraceSource>(o.trace);
  std::unique_ptr<viz::TraceSource> second;
  if (!o.beside.empty()) second = std::make_unique<viz::TraceSource>(o.beside);
  if (*target)
    viz::borrow_display(arguments);
  else
    viz::require_display();
  viz::Typeface face;
  viz::load_typeface(face, o.font.empty() ? std::nullopt : std::optional<std::filesystem::path>(o.font));
  if (!face.notice.empty()) std::fprintf(stderr, "glassbowl-view: %s\n", face.notice.c_str());
  viz::View view(face.font, std::move(first), std::move(second));
  view.dark = !o.light;
  if (o.mode != "cutaway") view.mode = viz::Mode::overlap;
  view.enlarge_overlap = o.mode == "small-openings";
  if (*target) {
    viz::ExportPlan plan;
    plan.target = o.target;
    plan.width = width;
    plan.height = height;
    plan.rate = o.rate;
    if (*at) plan.from = o.at;
    if (*to) plan.to = o.to;
    viz::export_view(view, face.font, plan);
    return 0;
  }
  return 0;
} catch (const sim::Error& error) {
  std::fprintf(stderr, "glassbowl-view: %s\n", error.what());
  return error.exit_code();
} catch (const std::exception& error) {
  std::fprintf(stderr, "glassbowl-view: %s\n", error.what());
  return 1;
}
