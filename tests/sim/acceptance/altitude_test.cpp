#include <fmt/core.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "models/fluids/atmosphere.hpp"
#include "models/throat/vacuum_piston.hpp"
#include "tests/sim/acceptance/drive.hpp"
#include "tests/sim/acceptance/figure.hpp"

namespace glassbowl::sim {
namespace {

constexpr double opening = 60.0;  // [%]
constexpr double speed = 3500.0;  // [1/min]
const std::vector<double> heights{1219.0, 2000.0, 2700.0};

double density(double altitude) {
  const auto air = models::standard_atmosphere(altitude);
  return air.pressure / (models::constants::R_air * air.temperature);
}

double root_of_density(double altitude) {
  return std::sqrt(density(0.0) / density(altitude));
}

/// Equivalence ratio at the carburetor over that at sea level.
double enrichment(const std::string& run, double altitude, const Sets& sets) {
  const auto at = [&](double height) {
    return steady_point(run, opening, speed, joined(at_altitude(height), sets)).lambda;
  };
  return at(0.0) / at(altitude);
}

/// Overrides that make the needle's annulus a constant share of the throat below the piston and leave
/// nothing else to meter: no slow circuit, no bleed, a wide main jet.
Sets proportional_needle() {
  const auto bike = shipped("climb_piston").bike;
  const auto& piston = bike.carburetor.piston;
  const double jet = bike.carburetor.needle.jet_diameter;
  const double travel_area = models::piston_throat_area(piston, piston.travel);
  const double share = 0.55 * jet * jet / travel_area;  // of needle jet's square over throat, at full lift
  std::string points;
  for (double lift = 0.0; lift <= piston.travel + 1e-9; lift += 0.5e-3) {
    const double d = std::sqrt(jet * jet - share * models::piston_throat_area(piston, lift));
    points += fmt::format(R"(["{:.4f} mm", "{:.6f} mm"], )", 1e3 * lift, 1e3 * d);
  }
  return {"carburetor.needle.diameter=[" + points + "]",
          "carburetor.main.jet.bore=4.5 mm",
          "carburetor.main.air_jet.bore=0.1 mm",
          "carburetor.main.holes_plugged=99 %",
          "carburetor.slow.jet.bore=0.1 mm",
          "carburetor.screw.turns=0",
          R"(carburetor.ports.plugged=["100 %", "100 %", "100 %"])"};
}

}  // namespace

TEST_CASE("core: with the same jets a fixed venturi enriches by the root of the density",
          "[acceptance][altitude]") {
  for (const double height : heights) {
    const double measured = enrichment("climb", height, {});
    print_figure(fmt::format("fixed venturi, equivalence ratio at {:.0f} m over sea level", height), measured,
                 "", fmt::format("{:.4f} within 2 %", root_of_density(height)));
    CHECK(std::abs(measured / root_of_density(height) - 1.0) < 0.02);
  }
}

TEST_CASE("core: so does a vacuum piston whose needle follows its throat, the shipped needle is reported",
          "[acceptance][altitude]") {
  const Sets ideal = proportional_needle();
  const Means sea = steady_point("climb_piston", opening, speed, ideal);
  print_figure("area-proportional needle: lift at sea level", 1e3 * sea.lift, "mm", "between the stops");
  print_figure("area-proportional needle: lambda at sea level", sea.lambda, "", "runs");
  REQUIRE(sea.lift > 2e-3);
  REQUIRE(sea.lift < 35e-3);
  for (const double height : heights) {
    const double measured = enrichment("climb_piston", height, ideal);
    print_figure(
        fmt::format("area-proportional needle, equivalence ratio at {:.0f} m over sea level", height),
        measured, "", fmt::format("{:.4f} within 2 %", root_of_density(height)));
    CHECK(std::abs(measured / root_of_density(height) - 1.0) < 0.02);
  }
  for (const double height : heights) {
    const double measured = enrichment("climb_piston", height, {});
    print_figure(fmt::format("shipped needle, equivalence ratio at {:.0f} m over sea level", height),
                 measured, "", fmt::format("reported; root of density {:.4f}", root_of_density(height)));
    CHECK(std::isfinite(measured));
  }
}

TEST_CASE("core: full-throttle power with re-scaled jets falls about 3 % per 1,000 ft",
          "[acceptance][altitude]") {
  const double height = 3048.0;  // 10,000 ft
  const double scale = std::pow(density(height) / density(0.0), 0.25);
  const auto jets = shipped("full_throttle_pull").bike.carburetor;
  const Sets scaled{fmt::format("carburetor.main.jet.bore={:.6f} mm", 1e3 * scale * jets.main.main_jet.bore),
                    fmt::format("carburetor.slow.jet.bore={:.6f} mm", 1e3 * scale * jets.slow.fuel_jet.bore)};
  double best = 0.0, best_speed = 0.0;
  for (const double trial : {4500.0, 5000.0, 5500.0, 6000.0, 6500.0}) {
    const double power = steady_point("full_throttle_pull", 100.0, trial).power;
    fmt::print("  full throttle at sea level, {:.0f} 1/min: {:.2f} kW\n", trial, 1e-3 * power);
    if (power > best) {
      best = power;
      best_speed = trial;
    }
  }
  const Means up = steady_point("full_throttle_pull", 100.0, best_speed, joined(at_altitude(height), scaled));
  const double fall = 100.0 * (1.0 - up.power / best) / 10.0;
  print_figure("speed of best power", best_speed, "1/min", "the case's own");
  print_figure("power at sea level", 1e-3 * best, "kW", "reference");
  print_figure("power at 10,000 ft, jets re-scaled", 1e-3 * up.power, "kW", "reference");
  print_figure("trapped lambda at 10,000 ft, jets re-scaled", up.trapped, "", "reported");
  print_figure("power lost per 1,000 ft over the first 10,000 ft", fall, "%", "2.5 to 3.5");
  CHECK(fall > 2.5);
  CHECK(fall < 3.5);
}

}  // namespace glassbowl::sim
