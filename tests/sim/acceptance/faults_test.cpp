#include <fmt/core.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "tests/sim/acceptance/drive.hpp"
#include "tests/sim/acceptance/figure.hpp"

namespace glassbowl::sim {
namespace {

/// A running engine with a fault beside the sound one: carburetor lambda over the sound engine's, and the
/// range that follows by hand.
struct RunningFault {
  const char* what;
  const char* run;
  double opening, speed;
  Sets fault;
  double low, high;
  const char* by_hand;
};

const std::vector<RunningFault>& running_faults() {
  static const std::vector<RunningFault> all{
      {"main jet 20 % blocked",
       "slow_sweep",
       100,
       3000,
       {"carburetor.main.jet.blocked=20 %"},
       1.12,
       1.25,
       "1/0.853 by the series network, at most 1/0.8"},
      {"main jet worn by 0.1 mm",
       "slow_sweep",
       100,
       3000,
       {"carburetor.main.jet.wear=0.1 mm"},
       0.89,
       0.96,
       "1/1.076 by the series network, not under (1.67/1.77)2"},
      {"main air jet half blocked",
       "slow_sweep",
       100,
       3000,
       {"carburetor.main.air_jet.blocked=50 %"},
       0.82,
       0.95,
       "1/1.139 by the series network"},
      {"tube holes 50 % plugged",
       "slow_sweep",
       100,
       3000,
       {"carburetor.main.holes_plugged=50 %"},
       0.99,
       1.10,
       "1/0.964 by the series network"},
      {"tube holes 99 % plugged",
       "slow_sweep",
       100,
       3000,
       {"carburetor.main.holes_plugged=99 %"},
       1.05,
       1.35,
       "1/0.875 by the series network in steady flow, the pulsing depression leans further"},
      {"slow jet 20 % blocked",
       "slow_sweep",
       0,
       1050,
       {"carburetor.slow.jet.blocked=20 %"},
       1.10,
       1.25,
       "1/0.866 by the series network, at most 1/0.8"},
      {"slow air jet half blocked",
       "slow_sweep",
       0,
       1050,
       {"carburetor.slow.air_jet.blocked=50 %"},
       0.78,
       0.92,
       "1/1.18 by the series network"},
      {"half of each transfer port plugged, at idle",
       "slow_sweep",
       0,
       1050,
       {R"(carburetor.ports.plugged=["50 %","50 %","50 %","50 %"])"},
       0.65,
       0.90,
       "richer, down to 1/1.43: covered ports bleed air in"},
      {"half of each transfer port plugged, in the transition",
       "slow_sweep",
       6,
       3000,
       {R"(carburetor.ports.plugged=["50 %","50 %","50 %","50 %"])"},
       1.10,
       1.45,
       "leaner: they delivered 61 % of the fuel"},
      {"filter 80 % clogged, bowl vented to the airbox",
       "slow_sweep",
       20,
       3000,
       {"inlet.filter_clogged=80 %"},
       0.97,
       1.01,
       "root of the airbox's density: its drop is not felt by the jets"},
      {"filter 50 % clogged, bowl vented outside",
       "slow_sweep",
       100,
       3000,
       {"inlet.filter_clogged=50 %", "float.vented_to_airbox=false"},
       0.70,
       0.92,
       "rich: the filter's drop adds to the venturi's"},
      {"float bent up by 5 mm",
       "slow_sweep",
       20,
       3000,
       {"float.level_error=5 mm"},
       0.85,
       0.97,
       "rich: 37 Pa more at the jets, of 200 to 300 Pa"},
      {"float bent down by 5 mm",
       "slow_sweep",
       20,
       3000,
       {"float.level_error=-5 mm"},
       1.03,
       1.18,
       "lean by as much"},
      {"needle jet worn by 0.02 mm, at 30 %",
       "slow_sweep_piston",
       30,
       3000,
       {"carburetor.needle.jet_wear=0.02 mm"},
       0.93,
       1.0,
       "0.08 of 1.7 mm2 of annulus, in series with the main jet"},
      {"needle jet worn by 0.02 mm, at 10 %",
       "slow_sweep_piston",
       10,
       3000,
       {"carburetor.needle.jet_wear=0.02 mm"},
       0.82,
       0.93,
       "0.08 of 0.33 mm2 of annulus, with 55 % of the fuel"},
  };
  return all;
}

}  // namespace

TEST_CASE("faults: each moves a running engine's mixture by what its network foretells",
          "[acceptance][faults]") {
  for (const auto& f : running_faults()) {
    const Means sound = steady_point(f.run, f.opening, f.speed);
    const Means faulty = steady_point(f.run, f.opening, f.speed, f.fault);
    const double ratio = faulty.lambda / sound.lambda;
    print_figure(fmt::format("{}, {} at {} %, {} 1/min: lambda over the sound engine's", f.what, f.run,
                             f.opening, f.speed),
                 ratio, "", fmt::format("{:.2f} to {:.2f}: {}", f.low, f.high, f.by_hand));
    INFO(f.what);
    CHECK(ratio > f.low);
    CHECK(ratio < f.high);
  }
}

TEST_CASE("faults: the ends of their ranges make sense in a running engine", "[acceptance][faults]") {
  const auto at = [](const char* run, double opening, double speed, const Sets& sets) {
    return steady_point(run, opening, speed, sets);
  };
  const Means sound = at("slow_sweep", 100, 3000, {});
  print_figure("main jet all but blocked: fuel over the sound engine's",
               at("slow_sweep", 100, 3000, {"carburetor.main.jet.blocked=99.9 %"}).fuel / sound.fuel, "",
               "< 0.01");
  CHECK(at("slow_sweep", 100, 3000, {"carburetor.main.jet.blocked=99.9 %"}).fuel < 0.01 * sound.fuel);

  // Filled over its lip by a sunk float, the bowl runs out through nozzle and overflow at idle.
  const Means idle = at("slow_sweep", 0, 1050, {});
  const Means sunk = at("slow_sweep", 0, 1050, {"float.level_error=20 mm"});
  print_figure("float sunk by 20 mm: idle fuel over the sound engine's", sunk.fuel / idle.fuel, "", "> 2");
  CHECK(sunk.fuel > 2.0 * idle.fuel);
  CHECK(sunk.outlets[sunk.main()] > 0.5 * sunk.fuel);

  // An air leak leaves the carburetor's mixture alone and adds its own air: 0.24 g/s choked through 1 mm2.
  const Means leaking = at("slow_sweep", 0, 1050, {"manifold.leak_area=1 mm2"});
  const double leaner = leaking.trapped / leaking.lambda / (idle.trapped / idle.lambda);
  const double by_hand = 1.0 + 0.2412e-3 / idle.air;
  print_figure("air leak of 1 mm2 at idle: in-cylinder over carburetor lambda, over the sound engine's",
               leaner, "", fmt::format("{:.3f} within 6 %: unburned residual counts again", by_hand));
  CHECK(std::abs(leaner / by_hand - 1.0) < 0.06);
  CHECK(std::abs(leaking.lambda / idle.lambda - 1.0) < 0.02);

  // A diaphragm torn by more than 8.8 mm2 lifts no piston.
  const double torn = at("slow_sweep_piston", 30, 3000, {"carburetor.piston.torn_area=60 mm2"}).lift;
  print_figure("diaphragm torn by 60 mm2: lift at 30 %", 1e3 * torn, "mm", "< 0.5");
  CHECK(torn < 0.5e-3);
  // One that sticks by 20 N, where pressure lifts with 3 N, no longer follows the throttle.
  const auto sticking =
      steady_sweep("slow_sweep_piston", {10, 40}, 3000, {"carburetor.piston.guide_friction=20 N"});
  const auto free =
      steady_sweep("slow_sweep_piston", {10, 40}, 3000, {"carburetor.piston.guide_friction=0.05 N"});
  print_figure("piston sticks by 20 N: lift gained from 10 to 40 %",
               1e3 * (sticking[1].lift - sticking[0].lift), "mm",
               fmt::format("within 0.1, the sound one {:.1f}", 1e3 * (free[1].lift - free[0].lift)));
  CHECK(std::abs(sticking[1].lift - sticking[0].lift) < 0.1e-3);
  CHECK(free[1].lift - free[0].lift > 5e-3);

  // Ten degrees late costs 3 to 8 % of the indicated torque; a dead spark all of it.
  const double late = at("slow_sweep", 100, 3000, {"engine.combustion.retard_error=10 deg"}).indicated;
  print_figure("spark 10 deg late: indicated torque over the sound engine's", late / sound.indicated, "",
               "0.92 to 0.97");
  CHECK(late / sound.indicated > 0.92);
  CHECK(late / sound.indicated < 0.97);
  CHECK(at("slow_sweep", 100, 3000, {"engine.combustion.weak_spark=100 %"}).indicated < 0.0);

  // Too much lash at either valve costs air at high speed.
  const Means fast = at("slow_sweep", 100, 6000, {});
  for (const char* valve : {"intake", "exhaust"}) {
    const Means loose = at("slow_sweep", 100, 6000, {fmt::format("engine.{}.clearance_error=2 mm", valve)});
    print_figure(
        fmt::format("{} valves with 2 mm of lash at 6,000 1/min: air over the sound engine's", valve),
        loose.air / fast.air, "", "0.6 to 0.9: a quarter of the lift, a third of the period");
    CHECK(loose.air < 0.9 * fast.air);
    CHECK(loose.air > 0.6 * fast.air);
  }
}

}  // namespace glassbowl::sim
