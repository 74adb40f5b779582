#include "models/engine/combustion.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include "sim/validation/solve.hpp"
#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;
namespace {

std::string short_number(double x) {
  return std::to_string(x).substr(0, 4);
}

/// Share that has burned at s when the unburned share follows the hazard that the engine integrates.
double burned_by_hazard(double s) {
  double unburned = 1.0;
  const int n = 20000;
  for (int i = 0; i < n; ++i) unburned -= unburned * m::wiebe_hazard(s * (i + 0.5) / n) * s / n;
  return 1.0 - unburned;
}

}  // namespace

void check_combustion(std::vector<Row>& rows) {
  const std::string heywood = "Heywood, Internal Combustion Engine Fundamentals, 1988";
  struct Burn {
    double s, share;
  };
  for (const Burn& b : {Burn{0.1, 0.00499}, Burn{0.25, 0.07515}, Burn{0.5, 0.46474}, Burn{0.75, 0.87869},
                        Burn{1.0, 0.99326}}) {
    const Source source{heywood, "sec. 9.2.3, a 5, m 2", Seen::computed};
    rows.push_back({"combustion",
                    "burned share at " + short_number(b.s) + " of the duration",
                    source,
                    b.share,
                    m::wiebe_fraction(b.s),
                    absolute(1e-5, "printed digits"),
                    "-",
                    {}});
    rows.push_back({"combustion",
                    "the same, integrated from the burn rate",
                    source,
                    b.share,
                    burned_by_hazard(b.s),
                    absolute(2e-4, "step of the quadrature"),
                    "-",
                    {}});
  }
  rows.push_back({"combustion",
                  "duration share at which half has burned",
                  {heywood, "sec. 9.2.3, a 5, m 2", Seen::computed},
                  0.5175,
                  find_root([](double s) { return m::wiebe_fraction(s) - 0.5; }, 0.1, 1.0),
                  absolute(1e-4, "printed digits"),
                  "-",
                  {}});
  const auto total = in_range(40.0, 60.0);
  rows.push_back({"combustion",
                  "whole burn at lambda 1, default",
                  {heywood, "sec. 9.2.3, typical total duration", Seen::from_memory},
                  total.middle,
                  m::Combustion<>{}.duration * 180.0 / 3.14159265358979323846,
                  total.tolerance,
                  "deg",
                  {}});

  const std::string csallner = "Csallner, dissertation, TU Munich, 1981";
  struct Duration {
    double lambda, factor;
  };
  for (const Duration& d : {Duration{0.8, 0.956}, Duration{0.85, 0.9505}, Duration{1.0, 1.0},
                            Duration{1.1, 1.088}, Duration{1.2, 1.22}, Duration{1.3, 1.396}})
    rows.push_back({"combustion",
                    "duration over that at lambda 1, lambda " + short_number(d.lambda),
                    {csallner, "duration over lambda", Seen::computed},
                    d.factor,
                    m::duration_factor(d.lambda),
                    relative(1e-3, "printed digits"),
                    "-",
                    {}});
  // Duration goes with flame speed to a power between 0.5 and 1; flame speed at 700 K and 15 atm.
  struct Flame {
    double phi, slowness;
  };
  for (const Flame& f : {Flame{0.7, 1.86}, Flame{0.8, 1.39}, Flame{0.9, 1.14}, Flame{1.1, 0.92},
                         Flame{1.2, 0.88}, Flame{1.4, 0.93}}) {
    const auto range =
        in_range(std::min(f.slowness, std::sqrt(f.slowness)), std::max(f.slowness, std::sqrt(f.slowness)));
    Disagreement stated;
    if (f.phi > 1.15)
      stated = {
          "Csallner's parabola is flatter on the rich side than laminar flame speed; engines at high "
          "speed are turbulent and respond less",
          0.06};
    rows.push_back({"combustion",
                    "duration over that at lambda 1, equivalence ratio " + short_number(f.phi),
                    {"Metghalchi & Keck, Combust. Flame 48, 1982 (gasoline form, Rhodes & Keck 1985)",
                     "flame speed to a power of 0.5 to 1", Seen::computed},
                    range.middle,
                    m::duration_factor(1.0 / f.phi),
                    range.tolerance,
                    "-",
                    stated});
  }
  rows.push_back(
      {"combustion",
       "lambda of the shortest burn",
       {"CarTech, engine tuning (web article)", "peak flame speed near lambda 0.9", Seen::in_source},
       0.9,
       find_root([](double l) { return m::duration_factor(l + 1e-4) - m::duration_factor(l - 1e-4); }, 0.6,
                 1.3),
       absolute(0.07, "\"near\""),
       "-",
       {}});

  // Limits of ignition: lambda at which half of the charge lights, little residual gas.
  const m::Combustion<> combustion;
  const auto half = [&](double low, double high) {
    return find_root([&](double l) { return m::ignited_share(combustion, l, 0.05) - 0.5; }, low, high);
  };
  const auto lean = in_range(1.3, 1.6), rich = in_range(0.5, 0.6);
  rows.push_back({"combustion",
                  "lean misfire limit",
                  {heywood, "sec. 9.5", Seen::from_memory},
                  lean.middle,
                  half(1.0, 2.0),
                  lean.tolerance,
                  "lambda",
                  {}});
  rows.push_back({"combustion",
                  "rich misfire limit",
                  {heywood, "sec. 9.5", Seen::from_memory},
                  rich.middle,
                  half(0.3, 1.0),
                  rich.tolerance,
                  "lambda",
                  {}});
  const std::string practical = "CarTech, engine tuning (web article)";
  rows.push_back({"combustion",
                  "rich limit of practical combustion, air-fuel ratio 8.0",
                  {practical, "practical range 8.0 to 25.5", Seen::in_source},
                  8.0,
                  14.68 * half(0.3, 1.0),
                  relative(0.08, "rounded in the article"),
                  "-",
                  {}});

  // Best power and what it loses at lambda 1 by mixture scatter alone: fuel that finds its air.
  const auto burned = [&](double lambda) {
    return m::burnable_fuel(1.0 / (14.6 * lambda), 1.0, 14.6, combustion.inhomogeneity);
  };
  rows.push_back({"combustion",
                  "burned fuel at lambda 1 over that at lambda 0.8",
                  {heywood, "fig. 15-4, torque 0.965 of the greatest", Seen::from_memory},
                  0.965,
                  burned(1.0) / burned(0.8),
                  absolute(0.02, "figure read from memory, 2 %"),
                  "-",
                  {}});
}

}  // namespace glassbowl::validation
