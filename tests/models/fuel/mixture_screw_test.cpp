#include "models/fuel/mixture_screw.hpp"

#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

TEST_CASE("mixture screw: shut when seated, the bare seat when far out",
          "[models][fuel][mixture_screw][limit]") {
  MixtureScrew<> screw;
  screw.turns = 0.0;
  CHECK(mixture_screw_area(screw) == 0.0);
  screw.turns = 100.0;
  const double seat = 0.25 * constants::pi * screw.seat_bore * screw.seat_bore;
  CHECK_THAT(mixture_screw_area(screw), near(screw.discharge * seat, round_off(8)));
}

TEST_CASE("mixture screw: opens with every turn, without jump", "[models][fuel][mixture_screw][continuity]") {
  const auto area = [](double turns) {
    MixtureScrew<> screw;
    screw.turns = turns;
    return mixture_screw_area(screw);
  };
  CHECK(never_falls(0.0, 15.0, 1500, area));
  CHECK(jump_ratio(0.0, 15.0, 500, area) < smooth_ratio);
  // First opening: a ring π D high by the tip's slope.
  const MixtureScrew<> screw;
  const double ring =
      screw.discharge * constants::pi * screw.seat_bore * 1e-4 * screw.pitch * std::tan(0.5 * screw.taper);
  CHECK_THAT(area(1e-4), near(ring, relative(1e-5, "second order of the tip's taper")));
}

TEST_CASE("mixture screw: units agree", "[models][fuel][mixture_screw][units]") {
  using namespace units;
  MixtureScrew<Dimensioned> screw;
  screw.pitch = 0.5e-3 * metre;
  screw.seat_bore = 1e-3 * metre;
  CHECK(mixture_screw_area(screw).dimension() == square_metre);
}
