#include "models/mixture/wall_film.hpp"

#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/random.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {
const WallFilm<> film;
const Fuel<> fuel;
const double D = 0.034;

FilmFlows<double> flows(double film_mass, double droplet_mass, double partial, double speed) {
  return evaluate_film(film, film_saturation(film, fuel), film_mass, droplet_mass, partial, speed, D);
}
}  // namespace

TEST_CASE("wall film: without film and droplets nothing flows, still air deposits nothing",
          "[models][mixture][wall_film][zero]") {
  const auto none = flows(0.0, 0.0, 0.0, 30.0);
  CHECK(none.deposited == 0.0);
  CHECK(none.evaporated == 0.0);
  CHECK(none.crept == 0.0);
  const auto still = flows(1e-5, 1e-5, 0.0, 0.0);
  CHECK(still.deposited == 0.0);
  CHECK(still.crept == 0.0);
  CHECK(film_deposition(film, -1e-9, 30.0, D) == 0.0);
}

TEST_CASE("wall film: droplets strike the wall in either direction, the film creeps toward the engine only",
          "[models][mixture][wall_film][symmetry]") {
  const auto forward = flows(1e-5, 1e-5, 0.0, 30.0), backward = flows(1e-5, 1e-5, 0.0, -30.0);
  CHECK(backward.deposited == forward.deposited);
  CHECK(backward.evaporated == forward.evaporated);
  CHECK(forward.crept > 0.0);
  CHECK(backward.crept == 0.0);
}

TEST_CASE("wall film: evaporates within its time into dry air, not at all into saturated",
          "[models][mixture][wall_film][limit]") {
  CHECK_THAT(flows(1e-5, 0.0, 0.0, 0.0).evaporated, near(1e-5 / film.evaporation_time, round_off(4)));
  const double saturated = vapour_pressure(fuel, film.wall_temperature, film.heavy_fraction);
  CHECK(flows(1e-5, 0.0, saturated, 0.0).evaporated == 0.0);
  CHECK(flows(1e-5, 0.0, 2.0 * saturated, 0.0).evaporated == 0.0);
  const auto f = [](double partial) { return flows(1e-5, 0.0, partial, 0.0).evaporated; };
  CHECK(never_rises(0.0, 2.0 * saturated, 500, f));
  CHECK(jump_ratio(0.9 * saturated, 1.1 * saturated, 200, f) < smooth_ratio);
  CHECK(never_falls(0.0, 100.0, 200, [](double u) { return flows(1e-5, 0.0, 0.0, u).crept; }));
  CHECK_THAT(flows(1e-5, 0.0, 0.0, 1e9).crept,
             near(1e-5 / film.creep_time, relative(1e-7, "creep speed over speed")));
}

TEST_CASE("wall film: flows are linear in what is there", "[models][mixture][wall_film][exact]") {
  const auto one = flows(1e-5, 2e-6, 3000.0, 20.0), two = flows(2e-5, 4e-6, 3000.0, 20.0);
  CHECK(two.deposited == 2.0 * one.deposited);
  CHECK(two.evaporated == 2.0 * one.evaporated);
  CHECK(two.crept == 2.0 * one.crept);
}

TEST_CASE("wall film: fuel that enters a runner leaves it or stays on its wall",
          "[models][mixture][wall_film][balance]") {
  double wall = 0.0, droplets_mass = 1e-6, entered = 1e-6, left = 0.0;
  const double dt = 1e-4;
  for (int i = 0; i < 20000; ++i) {
    const double speed = 40.0 * std::sin(300.0 * i * dt);
    const auto f = flows(wall, droplets_mass, 1500.0, speed);
    const double fresh = 5e-4;
    entered += dt * fresh;
    droplets_mass += dt * (fresh - f.deposited);
    wall += dt * (f.deposited - f.evaporated - f.crept);
    left += dt * (f.evaporated + f.crept);
  }
  CHECK_THAT(wall + droplets_mass + left, near(entered, round_off(20000)));
  CHECK(wall > 0.0);
}

TEST_CASE("wall film: finite and not negative over all legal states", "[models][mixture][wall_film][limit]") {
  Random random(18);
  bool sound = true;
  for (int i = 0; i < 3000; ++i) {
    WallFilm<> w;
    w.wall_temperature = random.between(250.0, 400.0);
    w.heavy_fraction = random.between(0.0, 1.0);
    const auto f = evaluate_film(w, film_saturation(w, fuel), random.over_decades(1e-12, 1e-2),
                                 random.over_decades(1e-12, 1e-3), random.between(0.0, 1e5),
                                 random.between(-300.0, 300.0), random.between(0.01, 0.06));
    sound = sound && f.deposited >= 0.0 && f.evaporated >= 0.0 && f.crept >= 0.0 &&
            std::isfinite(f.deposited + f.evaporated + f.crept);
  }
  CHECK(sound);
}

TEST_CASE("wall film: units agree", "[models][mixture][wall_film][units]") {
  using namespace units;
  const auto deposited =
      film_deposition(WallFilm<Dimensioned>{}, 1e-6 * kilogram, 30.0 * metre_per_second, D * metre);
  CHECK(deposited.dimension() == mass_flow);
  WallFilm<Dimensioned> other;
  other.evaporation_time = 0.7 * second;
  other.creep_time = 1.2 * second;
  other.creep_speed = 10.0 * metre_per_second;
  const auto flows = evaluate_film(other, 4e4 * pascal, 1e-4 * kilogram, 1e-6 * kilogram, 1e3 * pascal,
                                   20.0 * metre_per_second, D * metre);
  CHECK(flows.evaporated.dimension() == mass_flow);
  CHECK(flows.crept.dimension() == mass_flow);
}
