#include "models/fuel/tank_feed.hpp"

#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {
const TankFeed<> feed;
const double rho = 745.0;
}  // namespace

TEST_CASE("tank feed: a shut tap passes nothing, an open one less than tap or hose alone",
          "[models][fuel][tank_feed][limit]") {
  const auto section = [](double bore) { return feed.discharge * 0.25 * constants::pi * bore * bore; };
  CHECK(feed_area(feed, 0.0) == 0.0);
  CHECK(feed_area(feed, -1.0) == 0.0);
  CHECK(feed_area(feed, 1.0) < section(feed.tap_bore));
  CHECK(feed_area(feed, 7.0) == feed_area(feed, 1.0));
  CHECK(never_falls(0.0, 1.0, 200, [](double tap) { return feed_area(feed, tap); }));
  // Losses in series add: 1/A² = 1/tap² + 1/hose².
  const double tap = section(feed.tap_bore), hose = section(feed.hose_bore);
  CHECK_THAT(1.0 / std::pow(feed_area(feed, 1.0), 2),
             near(1.0 / (tap * tap) + 1.0 / (hose * hose), round_off(16)));
  // A tap hardly open meters alone.
  CHECK_THAT(feed_area(feed, 1e-3), near(1e-3 * tap, relative(1e-6, "(tap over hose)² / 2")));
}

TEST_CASE("tank feed: a full tank gives its head, a dry one nothing", "[models][fuel][tank_feed][limit]") {
  const double full = rho * feed.fuel_volume;
  CHECK_THAT(feed_pressure(feed, full, rho), near(rho * constants::g0 * feed.head, round_off(8)));
  CHECK(feed_pressure(feed, 0.0, rho) == 0.0);
  // A litre less lowers the surface by its height in the tank.
  CHECK_THAT(feed_pressure(feed, full - rho * 1e-3, rho),
             near(rho * constants::g0 * (feed.head - 1e-3 / feed.tank_area), round_off(16)));
  const auto pressure = [](double m) { return feed_pressure(feed, m, rho); };
  CHECK(never_falls(0.0, full, 5000, pressure));
  CHECK(kink_ratio(-0.01, 0.2, 1000, pressure) < smooth_ratio);
}

TEST_CASE("tank feed: a tank that lies below the seat does not suck", "[models][fuel][tank_feed][limit]") {
  TankFeed<> low = feed;
  low.head = 0.01;
  CHECK(feed_pressure(low, 1.0, rho) == 0.0);
}

TEST_CASE("tank feed: units agree", "[models][fuel][tank_feed][units]") {
  using namespace units;
  TankFeed<Dimensioned> other;
  other.head = 0.3 * metre;
  other.tank_area = 0.07 * square_metre;
  other.fuel_volume = 12e-3 * cubic_metre;
  other.tap_bore = 5e-3 * metre;
  other.hose_bore = 6e-3 * metre;
  other.dry_volume = 50e-6 * cubic_metre;
  CHECK(feed_area(other, 0.5 * one).dimension() == square_metre);
  CHECK(feed_pressure(other, 5.0 * kilogram, rho * density).dimension() == pascal);
}
