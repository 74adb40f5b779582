#include <fmt/format.h>

#include <cstdio>
#include <exception>
#include <filesystem>
#include <memory>
#include <string>
#include <utility>

#include "sim/api/error.hpp"
#include "sim/api/new_file.hpp"
#include "sim/api/standard_streams.hpp"
#include "sim/api/terminal_text.hpp"
#include "viz/display.hpp"
#include "viz/export.hpp"
#include "viz/lessons/folder.hpp"
#include "viz/look/typeface.hpp"
#include "viz/options.hpp"
#include "viz/source/trace_source.hpp"
#include "viz/window.hpp"

using namespace glassbowl;

namespace {

/// File names, titles and what a file is damaged by come from strangers.
void complain(const std::string& words) {
  std::fputs(sim::terminal_text("glassbowl-view: " + words + "\n").c_str(), stderr);
}

/// Times that are asked for must lie in the trace.
void check_times(const viz::Options& o, viz::Source& trace) {
  if (trace.empty()) return;
  constexpr double slack = 1e-3;  // [s] of rounding by who types
  for (const auto& [option, time] : {std::pair{"--at", o.at}, std::pair{"--to", o.to}})
    if (time && !(*time >= trace.first_time() - slack && *time <= trace.last_time() + slack))
      throw sim::Error(sim::ErrorKind::input,
                       fmt::format("{} {:g}: {} holds {:.4g} s to {:.4g} s", option, *time, o.trace,
                                   trace.first_time() + 0.0, trace.last_time()));
}

/// Before a display is asked for.
void check_picture_name(const std::string& output, const viz::Options& o) {
  if (output == o.shot && !output.ends_with(".png"))
    throw sim::Error(sim::ErrorKind::input, output + ": the name must end in .png");
  for (const auto& input : {o.trace, o.beside, o.live}) {
    std::error_code ignored;  // what is not there is not the same
    if (!input.empty() && std::filesystem::equivalent(output, input, ignored))
      throw sim::Error(sim::ErrorKind::input,
                       output + ": would be written over what is read from it; give another name");
  }
  sim::check_output(output, o.force);
}

}  // namespace

int main(int count, char** arguments) try {
  sim::hold_standard_streams();
  const auto options = viz::read_options(count, arguments);
  if (!options) return 0;
  const auto& o = *options;
  const auto [width, height] = viz::read_size(o.size);

  for (const auto& output : {o.target, o.shot})
    if (!output.empty()) check_picture_name(output, o);

  std::vector<viz::LiveSource*> live;
  const auto clock = o.live.empty() ? nullptr : std::make_shared<sim::LiveClock>();
  const auto open = [&](const std::string& name) -> std::unique_ptr<viz::Source> {
    if (o.live.empty()) {
      if (!name.ends_with(".partial") && !std::filesystem::exists(name))
        throw sim::Error(sim::ErrorKind::input, name + ": there is no such trace; `glassbowl run` makes one");
      return std::make_unique<viz::TraceSource>(name);
    }
    auto source = std::make_unique<viz::LiveSource>(name, o.sets, clock);
    live.push_back(source.get());
    return source;
  };
  std::unique_ptr<viz::Source> first = open(o.live.empty() ? o.trace : o.live), second;
  if (o.live.empty()) check_times(o, *first);
  if (!o.beside.empty()) second = open(o.beside);
  if (!o.target.empty() || !o.shot.empty())
    viz::borrow_display(arguments);
  else
    viz::require_display();
  viz::Typeface face;
  viz::load_typeface(face, o.font.empty() ? std::nullopt : std::optional<std::filesystem::path>(o.font));
  if (!face.notice.empty()) complain(face.notice);
  viz::View view(face.font, std::move(first), std::move(second));
  view.dark = !o.light;
  view.large_type = o.large_type;
  if (o.mode != "cutaway") view.mode = viz::Mode::overlap;
  view.enlarge_overlap = o.mode == "small-openings";
  view.playback.set_rate(o.rate);
  if (o.pointer.size() == 2) view.pointer = {o.pointer[0], o.pointer[1]};
  if (o.at) view.playback.go_to(*o.at, *view.first().source);
  if (!o.lesson.empty()) {
    view.set_lesson(
        std::make_unique<viz::LessonRun>(viz::read_lesson(viz::find_lesson(o.lesson)), *view.first().source));
    view.lesson()->go_to(o.lesson_step > 0 ? o.lesson_step - 1 : 0, view.playback);
    if (view.lesson()->at_question()) view.lesson()->show_answer();
  }
  if (!o.target.empty()) {
    viz::ExportPlan plan;
    plan.target = o.target;
    plan.width = width;
    plan.height = height;
    plan.replace = o.force;
    plan.rate = view.lesson() != nullptr ? view.playback.rate : o.rate;
    if (o.at)
      plan.from = o.at;
    else if (view.lesson() != nullptr)
      plan.from = view.playback.time;
    plan.to = o.to;
    viz::export_view(view, face.font, plan);
    return 0;
  }
  viz::App shell(view, face.font, live, clock);
  std::vector<std::string> problems;
  shell.lessons = viz::read_lessons(viz::lesson_folder(), problems);
  for (const auto& problem : problems) complain(problem);
  viz::WindowPlan plan{width, height, o.shot.empty() ? 0 : o.pictures, o.shot, o.force, o.keys};
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
  complain(error.what());
  return error.exit_code();
} catch (const std::exception& error) {
  complain(error.what());
  return 1;
}
