#include <fmt/core.h>

#include <algorithm>
#include <catch2/catch.hpp>

#include "sim/run/run_case.hpp"
#include "tests/sim/acceptance/drive.hpp"
#include "tests/sim/acceptance/figure.hpp"

namespace glassbowl::sim {

TEST_CASE("core: fuel, air and energy close over every shipped run, with either method",
          "[acceptance][balance]") {
  const std::string method = GENERATE(values<std::string>({"fixed_step", "error_controlled"}));
  // A method that is told to be right to `tolerance` times a state's nominal size knows zero no better.
  const double least = method == "fixed_step" ? 1e-9 : 1e-5;
  Budget worst;
  worst.lowest_margin = 1.0;
  std::string fuel_run, air_run, energy_run, margin_run;
  for (const std::string& name : shipped_runs()) {
    const auto resolved = shortened(name, {"run.method=" + method, "run.tolerance=1e-5"});
    const Summary s = run_case(resolved, {});
    const Budget& b = s.budget;
    fmt::print("  {:26} {:16} fuel {:.1e}, air {:.1e}, energy {:.1e} ({}), least margin {:.1e} ({})\n", name,
               method, b.fuel, b.air, b.energy, b.energy_volume, b.lowest_margin, b.lowest_margin_name);
    INFO(name << " by " << method);
    CHECK(s.ending == Ending::complete);
    CHECK(s.fuel_flow > 1e-5);
    CHECK(b.fuel < 1e-9);
    CHECK(b.air < 1e-9);
    CHECK(b.energy < 1e-8);
    CHECK(b.lowest_margin > -least);
    const auto keep = [&](double value, double& most, std::string& run) {
      if (value <= most) return;
      most = value;
      run = name;
    };
    keep(b.fuel, worst.fuel, fuel_run);
    keep(b.air, worst.air, air_run);
    keep(b.energy, worst.energy, energy_run);
    if (b.lowest_margin < worst.lowest_margin) {
      worst.lowest_margin = b.lowest_margin;
      margin_run = name + ", " + b.lowest_margin_name;
    }
  }
  print_figure(method + ": fuel budget, worst run " + fuel_run, worst.fuel, "", "< 1e-9");
  print_figure(method + ": air budget, worst run " + air_run, worst.air, "", "< 1e-9");
  print_figure(method + ": energy budget, worst run " + energy_run, worst.energy, "", "< 1e-8");
  print_figure(method + ": least mass or level above its bound, " + margin_run, worst.lowest_margin,
               "nominal sizes", fmt::format("> -{:g}", least));
}

}  // namespace glassbowl::sim
