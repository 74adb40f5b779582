#include <catch2/catch.hpp>
#include <utility>

#include "models/gas/flow_function.hpp"
#include "models/gas/restriction.hpp"
#include "sim/bike/resolved_case.hpp"
#include "sim/cases/find_case.hpp"
#include "sim/solver/simulation.hpp"
#include "tests/support/tolerance.hpp"

namespace glassbowl::sim {

TEST_CASE("network: every passage goes by its own sides, gas and area", "[sim][network]") {
  const auto resolved = read_case(find_case("slow_sweep_piston"),
                                  {"load.kind=held_speed", "load.speed=3500 rpm", "rider.throttle=40 %",
                                   "rider.choke=0 %", "runner.cells=3", "run.step=20 us"});
  Simulation simulation(resolved.bike, resolved.plan.step);
  const auto& network = simulation.network();
  const auto& states = network.states();
  auto outputs = network.make_outputs();
  auto scratch = network.make_scratch();
  State rate(states.size);
  std::vector<int> turning(states.passages.count), steady(states.passages.count);
  for (int moment = 0; moment < 30; ++moment) {
    simulation.advance(simulation.time() + 0.0037);
    State x = std::as_const(simulation).state();
    const auto rates = [&] {
      network.rates(simulation.time(), x.data(), simulation.discrete(), rate.data(), scratch, &outputs);
    };
    for (std::size_t f = 0; f < states.passages.count; ++f) {
      const auto place = [&](std::size_t v) { return v == outside ? states.volumes.count : v; };
      const std::size_t from = place(states.passages.ends[f].from), to = place(states.passages.ends[f].to);
      double& flow = x[states.passages.flow[f]];
      const double as_found = flow;
      flow = 0.0;
      rates();
      if (scratch.area[f] < 1e-6) continue;
      INFO(states.passages.ends[f].name << " at " << simulation.time() << " s");
      const auto a = outputs.gas[from], b = outputs.gas[to];
      const m::GasFlow gas(f < states.passages.exhaust_valves.begin ? 1.40 : 1.33);
      const double drive = m::driving_pressure(gas, a.pressure, b.pressure);
      // From rest the flow tells the column's inertance, but for the response time's share.
      const auto expected = [&](double inertance) {
        const bool falls = a.pressure >= b.pressure;
        return m::restriction_rate(drive, flow, (flow >= 0.0 ? a : b).specific_volume,
                                   (falls ? a : b).specific_volume, scratch.area[f], inertance,
                                   resolved.bike.path.response);
      };
      const double at_rest = rate[states.passages.flow[f]], without = expected(0.0), with_one = expected(1.0);
      const double inertance = (1.0 / at_rest - 1.0 / without) / (1.0 / with_one - 1.0 / without);
      CHECK(inertance > 0.0);
      for (const double q : {2e-3, -2e-3}) {
        flow = q;
        rates();
        CHECK_THAT(rate[states.passages.flow[f]],
                   tests::near(expected(inertance), tests::relative(1e-6, "rounding, twice divided")));
        ++((q > 0.0) == (drive > 0.0) ? steady : turning)[f];
      }
      flow = as_found;
    }
  }
  for (std::size_t f = 0; f < states.passages.count; ++f) {
    INFO(states.passages.ends[f].name);
    CHECK(turning[f] > 3);
    CHECK(steady[f] > 3);
  }
}

}  // namespace glassbowl::sim
