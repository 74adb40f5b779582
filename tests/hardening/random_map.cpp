#include "tests/hardening/random_map.hpp"

#include <chrono>
#include <cmath>
#include <exception>

#include "sim/api/error.hpp"
#include "sim/network/state_map.hpp"
#include "sim/studies/study.hpp"
#include "tests/hardening/random_case.hpp"

namespace glassbowl::hardening {

MapVerdict try_map(std::uint64_t seed, int most_cycles) {
  const auto begin = std::chrono::steady_clock::now();
  MapVerdict out;
  try {
    // What changes over time is refused by a map: one value of each.
    const sim::Sets held{"load.kind=held_speed", "load.speed=3000 rpm", "rider.choke=0 %", "rider.tap=100 %",
                         "air.altitude=0 m"},
        fixed = sim::joined(held, {"run.method=fixed_step"});
    const std::string text = draw_case(seed).text();
    sim::ResolvedCase resolved = sim::read_case_text(text, "drawn", held);
    if (resolved.plan.step.method != sim::Method::fixed_step) {
      try {
        resolved = sim::read_case_text(text, "drawn", fixed);
      } catch (const sim::Error&) {  // cells or a response that no fixed step can follow
        out.too_slow = true;
        return out;
      }
    }
    constexpr double most_effort = 2e7;  // [1/s] states times steps; a usual bike has 3e6
    const sim::StateMap states(sim::StateMap::parts_of(resolved.bike));
    if (static_cast<double>(states.size) / resolved.plan.step.step > most_effort) {
      out.too_slow = true;
      return out;
    }
    sim::StudyRequest request;
    request.study = "map";
    request.speeds = {sim::from_per_minute(2500.0), sim::from_per_minute(6000.0)};
    request.openings = {0.0, 1.0};
    request.accuracy.most_cycles = most_cycles;
    sim::PointScheduler scheduler(nullptr, 1);
    const sim::StudyResult result = sim::run_study(resolved, request, scheduler);
    std::size_t without = 0;
    for (const double state : result.file.variable("state").values) {
      ++out.points;
      if (state == 2.0) ++without;
    }
    for (const auto& variable : result.file.variables)
      if (variable.name == "lambda_trapped" || variable.name == "torque" || variable.name == "air_flow")
        for (std::size_t i = 0; i < variable.values.size(); ++i)
          if (result.file.variable("state").values[i] < 2.0 && std::isnan(variable.values[i])) {
            out.ended_early = true;
            out.words = "no number: " + variable.name;
          }
    out.failed = static_cast<int>(scheduler.failures().size());
    if (out.failed > 0) out.first_why = scheduler.failures().front().why_not;
    if (without != scheduler.failures().size()) {
      out.ended_early = true;
      out.words = "points without figures and without a reason";
    }
  } catch (const std::exception& failure) {
    out.ended_early = true;
    out.words = failure.what();
  }
  out.wall = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
  return out;
}

}  // namespace glassbowl::hardening
