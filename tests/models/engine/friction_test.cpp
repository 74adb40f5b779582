#include "models/engine/friction.hpp"

#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {
Friction<> none() {
  Friction<> f;
  f.constant = f.linear = f.quadratic = f.per_peak = 0.0;
  return f;
}
}  // namespace

TEST_CASE("friction: each term acts by itself", "[models][engine][friction][zero]") {
  CHECK(friction_mep(none(), 12.0) == 0.0);
  Friction<> f = none();
  f.constant = 4e4;
  CHECK(friction_mep(f, 12.0) == 4e4);
  f = none();
  f.linear = 9e3;
  CHECK(friction_mep(f, 12.0) == 12.0 * 9e3);
  f = none();
  f.quadratic = 90.0;
  CHECK_THAT(friction_mep(f, 12.0), near(144.0 * 90.0, round_off(4)));
  f = none();
  f.per_peak = 0.005;
  CHECK(friction_mep(f, 12.0) == 0.005 * f.peak_pressure);
}

TEST_CASE("friction: cold oil multiplies, speed adds", "[models][engine][friction][limit]") {
  Friction<> cold;
  cold.cold_factor = 3.0;
  CHECK_THAT(friction_mep(cold, 8.0), near(3.0 * friction_mep(Friction<>{}, 8.0), round_off(4)));
  CHECK(never_falls(0.0, 20.0, 200, [](double v) { return friction_mep(Friction<>{}, v); }));
  CHECK(never_falls(0.0, 9000.0, 200, [](double n) { return barnes_moss_mep(n); }));
}

TEST_CASE("friction: units agree", "[models][engine][friction][units]") {
  using namespace units;
  Friction<Dimensioned> f;
  f.constant = 4e4 * pascal;
  f.linear = 9e3 * (pascal / metre_per_second);
  f.quadratic = 90.0 * (pascal / metre_per_second / metre_per_second);
  f.peak_pressure = 35e5 * pascal;
  CHECK(friction_mep(f, 10.0 * metre_per_second).dimension() == pascal);
}
