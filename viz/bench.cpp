#include <fmt/format.h>

#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <memory>

#include "sim/api/error.hpp"
#include "viz/display.hpp"
#include "viz/look/typeface.hpp"
#include "viz/source/trace_source.hpp"
#include "viz/window.hpp"

namespace {

using namespace glassbowl;

constexpr double due = 1.0 / 60.0;  // [s]

void print(const viz::WindowReport& report, const viz::WindowPlan& plan) {
  fmt::print("{} pictures of {} x {}, controls included, with what the graphics driver does\n",
             report.work.count(), plan.width, plan.height);
  for (const double share : {0.5, 0.9, 0.95, 0.99, 1.0})
    fmt::print("  {:5.1f} % within {:6.2f} ms\n", share * 100.0, report.work.percentile(share) * 1e3);
  fmt::print("  {:5.1f} % within the {:.2f} ms that 60 pictures a second need\n",
             100.0 * report.work.share_within(due), due * 1e3);
  fmt::print("  processor time of all threads: {:.2f} ms a picture\n", report.processor_time * 1e3);
  fmt::print("  shown: {:.1f} pictures a second\n", report.pictures_per_second);
}

void replay(const char* trace, viz::Typeface& face, const viz::WindowPlan& plan) {
  auto session = viz::Session::open(
      viz::Choice{.trace = trace, .live = {}, .beside = {}, .sets = {}, .lesson = {}}, face.font);
  session->view.playback.playing = true;
  print(viz::run_window(std::move(session), face, plan), plan);
}

/// Paced at 60 pictures a second, the solver beside it at real time.
void live(const char* given, viz::Typeface& face, viz::WindowPlan plan) {
  auto session = viz::Session::open(
      viz::Choice{.trace = {}, .live = given, .beside = {}, .sets = {}, .lesson = {}}, face.font);
  viz::LiveSource& bench = *session->app.live.front();
  session->app.set_rate(1.0);
  double warm_at = 0.0;  // start and settling do not count
  plan.warmed = [&] { warm_at = bench.last_time(); };
  double end_at = 0.0;
  plan.ended = [&] { end_at = bench.last_time(); };
  const auto report = viz::run_window(std::move(session), face, plan);
  print(report, plan);
  fmt::print("  simulated: {:.3f} seconds a second\n",
             (end_at - warm_at) * report.pictures_per_second / static_cast<double>(report.work.count()));
}

}  // namespace

int main(int count, char** arguments) try {
  const bool is_live = count > 2 && std::strcmp(arguments[1], "--live") == 0;
  const int first = is_live ? 2 : 1;
  if (count <= first) {
    std::fprintf(stderr, "usage: glassbowl-view-bench [--live] TRACE.h5|CASE [PICTURES [WIDTH HEIGHT]]\n");
    return 2;
  }
  const auto number = [&](int place, int otherwise) {
    return count > first + place ? std::atoi(arguments[first + place]) : otherwise;
  };
  viz::WindowPlan plan;
  plan.pictures = number(1, 600);
  plan.width = static_cast<unsigned>(number(2, 1280));
  plan.height = static_cast<unsigned>(number(3, 720));
  plan.adapt = true;  // as for who looks at it
  viz::require_display();
  viz::Typeface face;
  viz::load_typeface(face, {});
  is_live ? live(arguments[first], face, plan) : replay(arguments[first], face, plan);
  return 0;
} catch (const std::exception& error) {
  std::fprintf(stderr, "glassbowl-view-bench: %s\n", error.what());
  return 1;
}
