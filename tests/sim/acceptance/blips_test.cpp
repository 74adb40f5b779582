#include <fmt/core.h>

#include <catch2/catch.hpp>
#include <cmath>

#include "sim/run/run_case.hpp"
#include "tests/sim/acceptance/drive.hpp"
#include "tests/sim/acceptance/figure.hpp"

namespace glassbowl::sim {
namespace {

const BlipLag& blip_of(const Summary& s) {
  REQUIRE(s.blip.has_value());
  const BlipLag& b = *s.blip;
  fmt::print(
      "  {:22} lag 10/50/90 % {:.1f}/{:.1f}/{:.1f} ms, leanest {:.3f}, richest {:.3f}, lean area {:.4f} s, "
      "misfires "
      "{}, lift 50 % {:.1f} ms, pumped {:.3f} cm3 in {:.1f} ms {}\n",
      s.name, 1e3 * b.lag_10, 1e3 * b.lag_50, 1e3 * b.lag_90, b.leanest, b.richest, b.lean_area, b.misfires,
      1e3 * b.lift_50, 1e6 * b.pump_volume, 1e3 * b.pump_duration, b.note);
  return b;
}

}  // namespace

TEST_CASE("core: the pump covers a lean hole, and too large a shot drowns the blip", "[acceptance][blip]") {
  const Summary with = run_case(shipped("blip"), {});
  const Summary without = run_case(shipped("blip_no_pump"), {});
  const Summary weak = run_case(shipped("blip_weak_pump"), {});
  const Summary large =
      run_case(shipped("blip", {"carburetor.pump.stroke=5 mm", "carburetor.pump.nozzle.bore=0.6 mm"}), {});
  const BlipLag &right = blip_of(with), &none = blip_of(without), &little = blip_of(weak),
                &much = blip_of(large);
  REQUIRE(std::isfinite(right.lag_50));

  print_figure("no pump: leanest trapped lambda", none.leanest, "", "> 1.15, an excursion");
  print_figure("no pump: misfired charges", static_cast<double>(none.misfires), "",
               "> 0, or later than with the pump");
  CHECK(none.leanest > BlipWatch::lean);
  CHECK((none.misfires > 0 || none.rise_50 > right.rise_50));

  // Never reaching half of the rise is the longest lag of all.
  const auto lag = [](const BlipLag& b) { return std::isnan(b.lag_50) ? INFINITY : b.lag_50; };
  print_figure("blip lag 50 %, right shot", 1e3 * lag(right), "ms", "shortest");
  print_figure("blip lag 50 %, no pump", 1e3 * lag(none), "ms", "over 1.5 times that of the right shot");
  print_figure("blip lag 50 %, weak shot", 1e3 * lag(little), "ms", "shorter than without");
  print_figure("blip lag 50 %, too large a shot", 1e3 * lag(much), "ms", "longer than with the right shot");
  print_figure("too large a shot: richest trapped lambda", much.richest, "",
               "below 0.52, the rich limit of ignition");
  print_figure("right shot: richest trapped lambda", right.richest, "", "leaner than that");
  CHECK(lag(none) > 1.5 * lag(right));
  CHECK(lag(little) < lag(none));
  CHECK(little.leanest > right.leanest);
  CHECK(little.leanest < none.leanest);
  CHECK(lag(much) > lag(right));
  CHECK(much.richest < shipped("blip").bike.engine.combustion.rich_limit);
  CHECK(much.richest < right.richest);
}

TEST_CASE(
    "core: the piston trails the throttle, its vent holes set by how much, a torn diaphragm holds it down",
    "[acceptance][blip]") {
  const Summary sound = run_case(shipped("blip_piston"), {});
  const BlipLag& blip = blip_of(sound);
  // The hand needs 60 ms for the whole movement, so 30 ms for half of it.
  print_figure("blip: time to half of the piston's lift", 1e3 * blip.lift_50, "ms",
               "> 30, half of the throttle");
  CHECK(blip.lift_50 > 30e-3);

  // At held speed the air asks for the same lift whatever the piston's haste; a free engine that gains less
  // speed would not.
  double before = INFINITY;
  for (const double hole : {1.5, 2.2, 3.5, 5.0}) {
    const Summary s =
        run_case(shipped("blip_piston",
                         {fmt::format("carburetor.piston.vent_diameter={} mm", hole), "load.kind=held_speed",
                          "load.speed=3000 1/min", R"(rider.throttle=[["0.2 s", "5 %"], ["0.26 s", "60 %"]])",
                          "run.settle=2 s", "run.duration=1 s"}),
                 {});
    const double half_lift = blip_of(s).lift_50;
    print_figure(fmt::format("throttle snapped open at 3,000 1/min, holes of {} mm: time to half lift", hole),
                 1e3 * half_lift, "ms", "> 30, and shorter with each larger hole");
    CHECK(half_lift > 30e-3);
    CHECK(half_lift < before);
    before = half_lift;
  }

  const Summary torn = run_case(shipped("blip_piston", {"carburetor.piston.torn_area=60 mm2"}), {});
  REQUIRE(sound.lift.has_value());
  REQUIRE(torn.lift.has_value());
  print_figure("blip: greatest lift", 1e3 * sound.lift->highest, "mm", "reference");
  print_figure("blip: greatest lift, torn diaphragm", 1e3 * torn.lift->highest, "mm",
               "under a tenth of that");
  CHECK(torn.lift->highest < 0.1 * sound.lift->highest);
}

}  // namespace glassbowl::sim
