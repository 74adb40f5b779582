#include <catch2/catch.hpp>
#include <utility>

#include "models/gas/flow_function.hpp"
#include "models/gas/restriction.hpp"
#include "sim/cases/resolved_case.hpp"
#include "sim/run/find_case.hpp"
#include "sim/solver/simulation.hpp"
#include "tests/support/tolerance.hpp"

namespace glassbowl::sim {

TEST_CASE("network: every passage goes by its own sides, gas and area", "[sim][network]") {
  const auto resolved = read_case(find_case("slow_sweep_piston"),
                                  {"load.kind=held_speed", "load.speed=3500 rpm", "rider.throttle=40 %",
                                   "rider.choke=0 %", "runner.cells=3", "run.step=20 us"});
  Simulation simulation(resolved.bike, resolved.plan.step);
  const auto& network = simulation.network();
  const auto& layout = network.layout();
  auto snapshot = network.make_snapshot();
  State rate(layout.size);
  std::vector<int> turning(layout.faces), steady(layout.faces);
  for (int moment = 0; moment < 30; ++moment) {
    simulation.advance(simulation.time() + 0.0037);
    State x = std::as_const(simulation).state();
    const auto rates = [&] {
      network.rates(simulation.time(), x.data(), simulation.held(), rate.data(), snapshot);
    };
    for (std::size_t f = 0; f < layout.faces; ++f) {
      const auto place = [&](std::size_t v) { return v == outside ? layout.volumes : v; };
      const std::size_t from = place(layout.connections[f].from), to = place(layout.connections[f].to);
      double& flow = x[layout.face(f)];
      const double as_found = flow;
      flow = 0.0;
      rates();
      if (snapshot.area[f] < 1e-6) continue;
      INFO(layout.connections[f].name << " at " << simulation.time() << " s");
      const auto a = snapshot.gas[from], b = snapshot.gas[to];
      const m::GasFlow gas(f < layout.exhaust_valve(0) ? 1.40 : 1.33);
      const double drive = m::driving_pressure(gas, a.pressure, b.pressure);
      // From rest the flow tells the column's inertance, but for the response time's share.
      const auto expected = [&](double inertance) {
        const bool falls = a.pressure >= b.pressure;
        return m::restriction_rate(drive, flow, (flow >= 0.0 ? a : b).specific_volume,
                                   (falls ? a : b).specific_volume, snapshot.area[f], inertance,
                                   resolved.bike.path.response);
      };
      const double at_rest = rate[layout.face(f)], without = expected(0.0), with_one = expected(1.0);
      const double inertance = (1.0 / at_rest - 1.0 / without) / (1.0 / with_one - 1.0 / without);
      CHECK(inertance > 0.0);
      for (const double q : {2e-3, -2e-3}) {
        flow = q;
        rates();
        CHECK_THAT(rate[layout.face(f)],
                   tests::near(expected(inertance), tests::relative(1e-6, "rounding, twice divided")));
        ++((q > 0.0) == (drive > 0.0) ? steady : turning)[f];
      }
      flow = as_found;
    }
  }
  for (std::size_t f = 0; f < layout.faces; ++f) {
    INFO(layout.connections[f].name);
    CHECK(turning[f] > 3);
    CHECK(steady[f] > 3);
  }
}

}  // namespace glassbowl::sim
