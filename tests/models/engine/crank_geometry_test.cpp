#include "models/engine/crank_geometry.hpp"

#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/random.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {
const CrankGeometry<> crank;
const double pi = constants::pi;
}  // namespace

TEST_CASE("crank geometry: swept volume and compression ratio are those given",
          "[models][engine][crank_geometry][exact]") {
  const double top = cylinder_volume(crank, 0.0).volume, bottom = cylinder_volume(crank, pi).volume;
  CHECK_THAT(bottom - top, near(displacement(crank), round_off(16)));
  CHECK_THAT(bottom / top, near(crank.compression_ratio, round_off(32)));
  CHECK_THAT(cylinder_volume(crank, 0.0).slope, near(0.0, round_off(2, 1e-4)));
  CHECK_THAT(cylinder_volume(crank, pi).slope, near(0.0, round_off(2, 1e-4)));
}

TEST_CASE("crank geometry: slope is the derivative of volume", "[models][engine][crank_geometry][exact]") {
  for (double theta : {0.1, 0.9, 1.4, 2.2, 3.0, 4.5, 6.0}) {
    const double h = 1e-4;
    const double difference =
        (cylinder_volume(crank, theta + h).volume - cylinder_volume(crank, theta - h).volume) / (2 * h);
    CHECK_THAT(cylinder_volume(crank, theta).slope,
               near(difference, absolute_error(2e-12, "h² of 2e-4 m³ and rounding")));
  }
}

TEST_CASE("crank geometry: up and down strokes mirror, every turn alike",
          "[models][engine][crank_geometry][symmetry]") {
  for (double theta : {0.3, 1.0, 2.5}) {
    const auto down = cylinder_volume(crank, theta), up = cylinder_volume(crank, 2.0 * pi - theta);
    CHECK_THAT(up.volume, near(down.volume, round_off(32)));
    CHECK_THAT(up.slope, near(-down.slope, round_off(64, 2e-4)));
    CHECK_THAT(cylinder_volume(crank, theta + 2.0 * pi).volume, near(down.volume, round_off(32)));
  }
  CHECK(never_falls(0.0, pi, 1000, [](double t) { return cylinder_volume(crank, t).volume; }));
}

TEST_CASE("crank geometry: with a very long rod the piston moves by the cosine",
          "[models][engine][crank_geometry][limit]") {
  CrankGeometry<> longer = crank;
  longer.rod = 1e4;
  const double half = 0.5 * displacement(crank), clearance = displacement(crank) / 8.0;
  CHECK_THAT(cylinder_volume(longer, 1.0).volume,
             near(clearance + half * (1.0 - std::cos(1.0)), relative(1e-5, "stroke over rod")));
}

TEST_CASE("crank geometry: positive over all legal engines", "[models][engine][crank_geometry][limit]") {
  Random random(14);
  bool sound = true;
  for (int i = 0; i < 3000; ++i) {
    CrankGeometry<> c;
    c.bore = random.between(0.03, 0.12);
    c.stroke = random.between(0.03, 0.12);
    c.rod = c.stroke * random.between(1.3, 2.5);
    c.compression_ratio = random.between(5.0, 14.0);
    const auto v = cylinder_volume(c, random.between(0.0, 4.0 * pi));
    sound = sound && v.volume > 0.0 && v.volume < 1.3 * displacement(c) && std::isfinite(v.slope);
  }
  CHECK(sound);
}

TEST_CASE("crank geometry: units agree", "[models][engine][crank_geometry][units]") {
  using namespace units;
  const CrankGeometry<Dimensioned> other{0.08 * metre, 0.07 * metre, 0.135 * metre, 9.0 * one};
  CHECK(displacement(other).dimension() == cubic_metre);
  CHECK(cylinder_volume(other, 1.0 * one).volume.dimension() == cubic_metre);
  CHECK(cylinder_volume(other, 1.0 * one).slope.dimension() == cubic_metre);
}
