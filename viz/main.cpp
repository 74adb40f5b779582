#include <fmt/format.h>

#include <chrono>
#include <cstdio>
#include <exception>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <thread>
#include <utility>

#include "sim/api/error.hpp"
#include "sim/api/new_file.hpp"
#include "sim/api/own_folder.hpp"
#include "sim/api/run.hpp"
#include "sim/api/standard_streams.hpp"
#include "sim/api/terminal_text.hpp"
#include "viz/complain.hpp"
#include "viz/display.hpp"
#include "viz/export.hpp"
#include "viz/lessons/folder.hpp"
#include "viz/look/typeface.hpp"
#include "viz/options.hpp"
#include "viz/page/handout.hpp"
#include "viz/page/page.hpp"
#include "viz/session.hpp"
#include "viz/sound/wave_file.hpp"
#include "viz/source/trace_source.hpp"
#include "viz/window.hpp"

using namespace glassbowl;

namespace {

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
void check_output_name(const std::string& output, const viz::Options& o) {
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

/// A lesson without a trace computes its own run first.
void compute_run(const viz::Lesson& lesson, const std::filesystem::path& trace) {
  sim::BackgroundRun run(lesson.case_name, trace);
  while (!run.finished()) std::this_thread::sleep_for(std::chrono::milliseconds(20));
  if (const auto problem = run.problem(); !problem.empty()) throw sim::Error(sim::ErrorKind::solver, problem);
}

/// Needs no display. At real time unless a rate was asked for.
void export_sound(const viz::Options& o, const viz::Choice& choice) {
  viz::TraceSource source(choice.trace);
  check_times(o, source);
  viz::SoundPlan plan;
  plan.target = o.target;
  plan.from = o.at;
  plan.to = o.to;
  plan.rate = o.rate.value_or(1.0);
  plan.distance = o.distance;
  plan.replace = o.force;
  const auto written = viz::write_sound(source, plan);
  const std::string words =
      fmt::format("{}: {:.2f} s, {:.1f} dB re 20 uPa at {:.3g} m in free field, full scale {:.3g} Pa\n",
                  o.target, written.seconds, written.level, plan.distance, written.full_scale);
  std::fputs(sim::terminal_text(words).c_str(), stdout);
}

/// Needs no display either.
void export_page(const viz::Options& o, const viz::Choice& choice) {
  viz::TraceSource source(choice.trace);
  check_times(o, source);
  viz::write_page(source, viz::Signals(source),
                  {.target = o.target, .from = o.at, .to = o.to, .dark = !o.light, .replace = o.force});
}

/// Looks of the command line, for a session that opens at once.
void set_looks(const viz::Options& o, viz::Session& session) {
  viz::View& view = session.view;
  view.dark = !o.light;
  view.print = o.print;
  view.large_type = o.large_type;
  if (o.mode != "cutaway") view.mode = viz::Mode::overlap;
  view.enlarge_overlap = o.mode == "small-openings";
  if (o.rate) session.app.set_rate(*o.rate);
  if (o.pointer.size() == 2) view.pointer = {o.pointer[0], o.pointer[1]};
  if (o.at) view.playback.go_to(*o.at, *view.first().source);
  if (view.lesson() == nullptr) return;
  view.lesson()->go_to(o.lesson_step > 0 ? o.lesson_step - 1 : 0, view.playback);
  if (view.lesson()->at_question()) view.lesson()->show_answer();
}

void export_session(const viz::Options& o, const sf::Font& font, viz::View& view, unsigned width,
                    unsigned height) {
  viz::ExportPlan plan;
  plan.target = o.target;
  plan.width = width;
  plan.height = height;
  plan.replace = o.force;
  plan.rate = view.playback.rate;
  if (o.at)
    plan.from = o.at;
  else if (view.lesson() != nullptr)
    plan.from = view.playback.time;
  plan.to = o.to;
  viz::export_view(view, font, plan);
}

}  // namespace

int main(int count, char** arguments) try {
  sim::hold_standard_streams();
  const auto options = viz::read_options(count, arguments);
  if (!options) return 0;
  const auto& o = *options;
  const auto [width, height] = viz::read_size(o.size);

  for (const auto& output : {o.target, o.shot, o.handout})
    if (!output.empty()) check_output_name(output, o);

  viz::Choice choice{.trace = o.trace, .live = o.live, .beside = o.beside, .sets = o.sets, .lesson = {}};
  std::error_code ignored;
  if (!o.trace.empty() && std::filesystem::path(o.trace).extension() == ".toml") {
    choice.trace.clear();
    choice.live = o.trace;
  }
  if (!choice.live.empty() && !o.target.empty())
    throw sim::Error(sim::ErrorKind::input,
                     choice.live + ": --export draws a trace; `glassbowl run` makes one of a case");
  if (!o.lesson.empty()) choice.lesson = viz::read_lesson(viz::find_lesson(o.lesson));
  if (!choice.trace.empty() && !choice.trace.ends_with(".partial") &&
      !std::filesystem::exists(choice.trace, ignored))
    throw sim::Error(sim::ErrorKind::input,
                     choice.trace + ": there is no such trace; `glassbowl run` makes one");
  const auto ending = std::filesystem::path(o.target).extension();
  if (ending == ".wav" || ending == ".html") {
    ending == ".wav" ? export_sound(o, choice) : export_page(o, choice);
    return 0;
  }
  if (!o.target.empty() || !o.shot.empty() || !o.handout.empty())
    viz::borrow_display(arguments);
  else
    viz::require_display();
  viz::Typeface face;
  viz::load_typeface(face, o.font.empty() ? std::nullopt : std::optional<std::filesystem::path>(o.font));
  if (!face.notice.empty()) viz::complain(face.notice);
  if (!o.handout.empty()) {
    viz::write_handout(*choice.lesson, face.font,
                       {.target = o.handout, .sheets = o.sheets, .replace = o.force});
    return 0;
  }
  std::unique_ptr<viz::Session> session;
  if (!choice.nothing()) {
    std::optional<sim::OwnFolder> own;
    if (choice.trace.empty() && choice.lesson) {
      own.emplace();
      choice.trace = (*own / "lesson.h5").string();
      compute_run(*choice.lesson, choice.trace);
    }
    session = viz::Session::open(choice, face.font);
    own.reset();  // an open file stays readable
    if (choice.live.empty()) check_times(o, session->app.source());
    set_looks(o, *session);
  }
  if (!o.target.empty()) {
    export_session(o, face.font, session->view, width, height);
    return 0;
  }
  viz::WindowPlan plan{width, height, o.shot.empty() ? 0 : o.pictures, o.shot, o.force, o.keys};
  plan.dark = !o.light;
  plan.large_type = o.large_type;
  const auto report = viz::run_window(std::move(session), face, plan);
  if (!o.shot.empty())
    std::printf("%zu pictures: median %.1f ms, 99 %% within %.1f ms\n", report.work.count(),
                report.work.percentile(0.5) * 1e3, report.work.percentile(0.99) * 1e3);
  return 0;
} catch (const sim::Error& error) {
  viz::complain(error.what());
  return error.exit_code();
} catch (const std::exception& error) {
  viz::complain(error.what());
  return 1;
}
