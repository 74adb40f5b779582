#include "models/throat/choke_plate.hpp"

#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/random.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {
const ChokePlate<> choke;
}

TEST_CASE("choke plate: shut it leaves its gap, and its relief once the engine draws",
          "[models][throat][choke_plate][limit]") {
  const double gap = choke.discharge * choke.closed_area, relief = choke.discharge * choke.relief_area;
  CHECK_THAT(choke_effective_area(choke, 1.0, 0.0), near(gap, round_off(16)));
  CHECK_THAT(choke_effective_area(choke, 1.0, choke.relief_pressure),
             near(gap + 0.5 * relief, round_off(16)));
  CHECK_THAT(choke_effective_area(choke, 1.0, 1e5), near(gap + relief, round_off(16)));
  CHECK(choke_effective_area(choke, 1.0, -1e5) == choke_effective_area(choke, 1.0, 0.0));
}

TEST_CASE("choke plate: open it has no relief", "[models][throat][choke_plate][limit]") {
  CHECK(choke_effective_area(choke, 0.0, 1e5) == choke_effective_area(choke, 0.0, 0.0));
  CHECK(choke_effective_area(choke, -1.0, 0.0) == choke_effective_area(choke, 0.0, 0.0));
  CHECK(choke_effective_area(choke, 2.0, 0.0) == choke_effective_area(choke, 1.0, 0.0));
  // Borda and Carnot: an open share f of the bore loses (1/f - 1)² of its dynamic pressure.
  const double bore = 0.25 * constants::pi * choke.bore * choke.bore;
  const double loss = std::pow(1.0 / choke.discharge - 1.0, 2);
  ChokePlate<> tight = choke;
  tight.closed_area = 0.0;
  CHECK_THAT(choke_effective_area(tight, 0.0, 0.0), near(bore / std::sqrt(loss), round_off(16)));
}

TEST_CASE("choke plate: closing takes area away, the relief gives some back",
          "[models][throat][choke_plate][continuity]") {
  const auto closing = [](double closure) { return choke_effective_area(choke, closure, 0.0); };
  CHECK(never_rises(0.0, 1.0, 1000, closing));
  CHECK(jump_ratio(-0.2, 1.2, 500, closing) < smooth_ratio);
  const auto drawing = [](double drop) { return choke_effective_area(choke, 1.0, drop); };
  CHECK(never_falls(-1000.0, 10000.0, 1000, drawing));
  CHECK(kink_ratio(-1000.0, 10000.0, 500, drawing) < smooth_ratio);
}

TEST_CASE("choke plate: positive over all settings", "[models][throat][choke_plate][limit]") {
  Random random(8);
  bool sound = true;
  for (int i = 0; i < 2000; ++i) {
    ChokePlate<> c;
    c.bore = random.between(0.015, 0.06);
    c.discharge = random.between(0.4, 0.9);
    const double area = choke_effective_area(c, random.between(0.0, 1.0), random.between(-5e4, 5e4));
    sound = sound && area > 0.0 && std::isfinite(area);
  }
  CHECK(sound);
}

TEST_CASE("choke plate: units agree", "[models][throat][choke_plate][units]") {
  using namespace units;
  ChokePlate<Dimensioned> other;
  other.bore = 0.042 * metre;
  other.closed_area = 45e-6 * square_metre;
  other.relief_area = 120e-6 * square_metre;
  other.relief_pressure = 2500.0 * pascal;
  CHECK(choke_effective_area(other, 0.7 * one, 1500.0 * pascal).dimension() == square_metre);
}
