#include "sim/bike/estimates.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "models/constants.hpp"
#include "models/fuel/jet.hpp"
#include "models/throat/throttle_plate.hpp"
#include "sim/bike/bike.hpp"
#include "sim/cases/quantity.hpp"

namespace glassbowl::sim {
namespace {

constexpr double pi = m::constants::pi;
constexpr double degree = pi / 180.0, rpm = pi / 30.0;
constexpr double mm = 1e-3, mm2 = 1e-6, cm3 = 1e-6;
#define PRACTICE "common practice, no published source"
#define HEYWOOD "Heywood 1988, ch. 6, from memory"

Spread share(double half_width) {
  return {half_width, true, {}};
}
Spread within(double half_width) {
  return {half_width, false, {}};
}

/// Adds estimates of what is not given.
class Estimator {
 public:
  explicit Estimator(KnownValues& known) : known_(known) {}

  double operator()(std::string_view path) const { return known_.number(path); }
  bool gives(std::string_view path) const { return known_.gives(path); }
  const KnownValues& known() const { return known_; }

  /// A quantity [SI], rounded to four digits and kept within what the key allows.
  void size(const char* path, double si, Spread spread, std::string rule) {
    const DeclaredKey* key = find_declared(path);
    if (key == nullptr || gives(path) || !std::isfinite(si)) return;
    add(path, written(*key, si), std::move(spread), std::move(rule));
  }
  void sizes(const char* path, const std::vector<double>& si, Spread spread, std::string rule) {
    const DeclaredKey* key = find_declared(path);
    if (key == nullptr || gives(path) || si.empty()) return;
    std::string list;
    for (const double value : si) {
      if (!std::isfinite(value)) return;
      list += (list.empty() ? "" : ", ") + written(*key, value);
    }
    add(path, "[" + list + "]", std::move(spread), std::move(rule));
  }
  void other(const char* path, std::string value, std::string rule) {
    if (find_declared(path) != nullptr && !gives(path)) add(path, std::move(value), {}, std::move(rule));
  }
  void table(const char* path, std::string value, Spread spread, std::string rule) {
    if (!gives(path)) add(path, std::move(value), std::move(spread), std::move(rule));
  }

  std::vector<Estimate> take() { return std::move(all_); }

 private:
  static std::string written(const DeclaredKey& key, double si) {
    const double value = std::clamp(from_si(si, key.unit), key.range.lowest, key.range.highest);
    const std::string number = fmt::format("{:.4g}", value + 0.0);
    return key.unit == units::one ? number : fmt::format("\"{} {}\"", number, key.unit);
  }
  void add(const char* path, std::string value, Spread spread, std::string rule) {
    spread.reason = std::move(rule);
    known_.add(path, value);
    all_.push_back({path, std::move(value), std::move(spread)});
  }

  KnownValues& known_;
  std::vector<Estimate> all_;
};

double cylinders(const Estimator& e) {
  return static_cast<double>(e.known().numbers("engine.firing").size());
}
/// [m3] of one cylinder, of all
double swept(const Estimator& e) {
  return circle(e("engine.bore")) * e("engine.stroke");
}
double displacement(const Estimator& e) {
  return swept(e) * cylinders(e);
}

void estimate_cylinders(Estimator& e) {
  if (!e.gives("engine.firing")) {
    const double count = e("engine.cylinders");
    if (!(count >= 1.0)) return;
    std::vector<double> angles;
    for (int i = 0; i < static_cast<int>(count); ++i) angles.push_back(4.0 * pi * i / count);
    e.sizes("engine.firing", angles, {}, "cylinders fire at even intervals");
  }
  const double all = e("engine.displacement"), each = all / cylinders(e);
  constexpr double stroke_over_bore = 0.95;
  if (!(each > 0.0)) return;
  if (e.gives("engine.stroke"))
    e.size("engine.bore", std::sqrt(4.0 * each / (pi * e("engine.stroke"))), share(0.005),
           "from displacement and stroke");
  else
    e.size("engine.bore", std::cbrt(4.0 * each / (pi * stroke_over_bore)), share(0.06),
           "from displacement, with a stroke of 0.95 bores (" PRACTICE ")");
  e.size("engine.stroke", each / circle(e("engine.bore")), share(0.005), "from displacement and bore");
}

void estimate_engine(Estimator& e) {
  const double bore = e("engine.bore"), stroke = e("engine.stroke");
  e.size("engine.rod", 1.75 * stroke, share(0.14),
         "1.75 strokes: Heywood 1988, sec. 2.2, has 1.5 to 2, from memory");
  e.size("engine.compression_ratio", 8.5, within(0.8), "8.5, usual before 1985 (" PRACTICE ")");
  e.size("engine.inertia", 120.0 * swept(e), share(0.4),
         "0.12 kg m2 for each litre of one cylinder, for like speed fluctuation (" PRACTICE ")");
  e.size("engine.wall_temperature", 428.15, within(15.0), "155 degC, warm and cooled by air (" PRACTICE ")");
  e.size("engine.heat_factor", 1.25, share(0.2),
         "1.25, as the shipped air-cooled engines have (no published source)");
  const bool four = e("engine.intake.count") > 1.5;
  e.size("engine.intake.diameter", (four ? 0.38 : 0.49) * bore, share(0.08),
         four ? "0.38 bores, two intake valves (" HEYWOOD ")"
              : "0.49 bores, hemispherical chamber (" HEYWOOD ")");
  e.size("engine.exhaust.diameter", 0.87 * e("engine.intake.diameter"), share(0.06),
         "0.87 of the intake valve's (" HEYWOOD ")");
  e.size("engine.intake.lift", 0.24 * e("engine.intake.diameter"), share(0.10),
         "0.24 of the valve's diameter; at 0.25 curtain and head areas are equal (" HEYWOOD ")");
  e.size("engine.exhaust.lift", 0.25 * e("engine.exhaust.diameter"), share(0.10),
         "0.25 of the valve's diameter (" HEYWOOD ")");
  const char* const cam = "20/55/55/20 deg, a touring cam (" PRACTICE ")";
  e.size("engine.intake.opens_before_top", 20 * degree, within(10 * degree), cam);
  e.size("engine.intake.closes_after_bottom", 55 * degree, within(10 * degree), cam);
  e.size("engine.exhaust.opens_before_bottom", 55 * degree, within(10 * degree), cam);
  e.size("engine.exhaust.closes_after_top", 20 * degree, within(10 * degree), cam);
  e.table("engine.combustion.advance",
          R"([["1000 rpm", "10 deg"], ["3500 rpm", "32 deg"], ["7000 rpm", "35 deg"]])", share(0.12),
          "10 deg at idle, 32 at 3,500 rpm, 35 at most (" PRACTICE ")");
}

void estimate_gas_path(Estimator& e) {
  const double all = displacement(e), throttle = e("carburetor.throttle.bore");
  const bool pod = e.known().flag("inlet.pod");
  e.size("inlet.airbox_volume", (pod ? 1.0 : 5.5) * all, share(0.4),
         pod ? "a filter on the carburetor holds about one displacement (" PRACTICE ")"
             : "5.5 displacements (" PRACTICE ")");
  e.size("inlet.filter_area", 1.6 * circle(throttle), share(0.3),
         "a clean filter passes what 1.6 carburetor bores do (" PRACTICE ")");
  e.size("inlet.length", (pod ? 40 : 80) * mm, share(0.4),
         pod ? "40 mm, a filter on the carburetor (" PRACTICE ")" : "80 mm, a short duct (" PRACTICE ")");
  e.size("inlet.diameter", 1.25 * throttle, share(0.12),
         "1.25 carburetor bores, the air horn (" PRACTICE ")");
  e.size("manifold.volume", 0.11 * all, share(0.3), "0.11 of the displacement (" PRACTICE ")");
  e.size("runner.length", 100 * mm, share(0.35), "100 mm from manifold to valve (" PRACTICE ")");
  e.size("runner.diameter", 0.86 * e("engine.intake.diameter"), share(0.07),
         "0.86 of the intake valve's, a port of three quarters of the head's area (" PRACTICE ")");
  e.size("exhaust.diameter", 1.15 * e("engine.exhaust.diameter"), share(0.08),
         "1.15 of the exhaust valve's (" PRACTICE ")");
  e.size("exhaust.length", 0.55, share(0.35), "0.55 m from valve to silencer (" PRACTICE ")");
  e.size("exhaust.volume", 1.3 * circle(e("exhaust.diameter")) * e("exhaust.length"), share(0.3),
         "the pipe's own volume and 30 % for port and bends (geometry)");
  e.size("silencer.volume", 6.0 * all, share(0.4), "six displacements (" PRACTICE ")");
  e.size("silencer.area", 1.0 * all / cm3 * mm2, share(0.3),
         "1 mm2 effective for each cm3 of displacement (" PRACTICE ")");
}

/// [m] bores of a needle that keeps the mixture at constant depression: annulus over throat area constant.
void estimate_needle(Estimator& e) {
  const double jet = e("carburetor.needle.jet_diameter"), slide = e("carburetor.piston.slide_diameter");
  const double travel = e("carburetor.piston.travel");
  constexpr double ratio = 12.5, air = 1.2, fuel = 745.0, throat = 0.85, annulus = 0.7, share_of_rest = 0.03;
  const double area = throat / annulus / ratio * std::sqrt(air / fuel);
  std::string table;
  for (const double part : {0.0, 0.05, 0.1, 0.2, 0.3, 0.45, 0.7, 1.0}) {
    const double lift = part * travel + share_of_rest * slide;
    // Chord segment of a round bore that the slide has opened.
    const double cosine = std::clamp(1.0 - 2.0 * lift / slide, -1.0, 1.0), angle = std::acos(cosine);
    const double open = 0.25 * slide * slide * (angle - cosine * std::sqrt(1.0 - cosine * cosine));
    const double d = std::sqrt(std::max(jet * jet - 4.0 / pi * area * open, 0.04 * jet * jet));
    table += fmt::format("{}[\"{:.4g} mm\", \"{:.4g} mm\"]", table.empty() ? "" : ", ", part * travel / mm,
                         d / mm);
  }
  if (std::isfinite(jet * slide * travel))
    e.table(
        "carburetor.needle.diameter", "[" + table + "]", share(0.02),
        "annulus in proportion to the opened throat, 12.5 kg of air per kg of fuel (constant depression)");
}

void estimate_jet(Estimator& e, const std::string& path, double bore, Spread spread, std::string rule) {
  const std::string rating = path + ".flow_rating";
  if (e.gives(rating) && e(rating) > 0.0) {
    bore = m::bore_from_flow_rating(e(rating), e(path + ".flow_head"), e(path + ".length"), e("fuel.density"),
                                    e("fuel.kinematic_viscosity"));
    return e.size((path + ".bore").c_str(), bore, share(0.015), "from " + rating);
  }
  e.size((path + ".bore").c_str(), bore, std::move(spread), std::move(rule));
}

void estimate_float(Estimator& e) {
  if (e.gives("float.height") && !e.gives("float.level"))
    e.size("float.height_at_datum", e("float.height") - 3 * mm, within(3 * mm),
           "as if the float's height were set for fuel 3 mm below the joint face; a clear tube tells");
  e.size("float.level", -3 * mm, within(2 * mm), "3 mm below the bowl joint face (" PRACTICE ")");
  e.other("float.vented_to_airbox", e.known().flag("inlet.pod") ? "false" : "true",
          e.known().flag("inlet.pod") ? "without an airbox the bowl is vented to the outside"
                                      : "vented into the air horn (" PRACTICE ")");
}

double level_of(const Estimator& e) {
  const bool by_height = e.gives("float.height") && e("float.height") > 0.0;
  return by_height ? e("float.height_at_datum") - e("float.height") : e("float.level");
}

void estimate_main(Estimator& e, bool lifts) {
  const double throat = lifts ? e("carburetor.piston.slide_diameter") : e("carburetor.venturi.diameter");
  const double needle_jet = e("carburetor.needle.jet_diameter");
  if (lifts)
    estimate_jet(e, "carburetor.main.jet", 0.9 * needle_jet, share(0.12),
                 "0.9 of the needle jet, which meters until near full lift (" PRACTICE ")");
  else
    estimate_jet(e, "carburetor.main.jet", 0.056 * throat, share(0.15),
                 "0.056 of the venturi, for lambda near 0.88 (two orifices on one depression; coefficients "
                 "by judgement)");
  const double jet = e("carburetor.main.jet.bore");
  estimate_jet(e, "carburetor.main.air_jet", lifts ? 1.1 * mm : 1.08 * jet, share(0.15),
               lifts ? "1.1 mm (" PRACTICE ")" : "1.08 main jets (" PRACTICE ")");
  e.size("carburetor.main.air_jet.length", std::max(2.0 * mm, 1.7 * e("carburetor.main.air_jet.bore")),
         share(0.3), "1.7 bores, at least 2 mm (" PRACTICE ")");
  e.size("carburetor.main.nozzle_diameter", lifts ? needle_jet : 0.09 * throat, share(0.12),
         lifts ? "that of the needle jet" : "0.09 of the venturi (" PRACTICE ")");
  e.size("carburetor.main.riser_diameter", e("carburetor.main.nozzle_diameter"), share(0.15),
         "that of the nozzle (" PRACTICE ")");
  e.size("carburetor.main.well_diameter",
         std::max(lifts ? 2.3 * needle_jet : 3.0 * jet, 1.5 * e("carburetor.main.riser_diameter")),
         share(0.2),
         lifts ? "2.3 needle jets (" PRACTICE ")"
               : "three main jets, and half as wide again as the riser (" PRACTICE ")");
  e.size("carburetor.main.tube_diameter", 0.82 * e("carburetor.main.well_diameter"), share(0.08),
         "0.82 of its well (" PRACTICE ")");
  const double level = level_of(e);
  e.size("carburetor.main.lip", level + 6 * mm, within(2 * mm),
         "6 mm above the fuel: textbook examples have 4 to 6 mm");
  e.size("carburetor.main.foot", std::max(level - 22 * mm, 1 * mm - e("float.bowl_depth")), within(4 * mm),
         "22 mm below the fuel (" PRACTICE ")");
  const double foot = e("carburetor.main.foot"), deepest = foot + 5 * mm, upper = level - 5 * mm;
  if (!e.gives("carburetor.main.hole_height") && !e.gives("carburetor.main.hole_diameter") &&
      !e.gives("carburetor.main.hole_count")) {
    std::vector<double> heights;
    for (int row = 0; row < 4; ++row) heights.push_back(upper + (deepest - upper) * row / 3.0);
    const double hole = std::sqrt(2.2 / 12.0) * e("carburetor.main.air_jet.bore");
    e.sizes("carburetor.main.hole_height", heights, within(2 * mm),
            "four rows from 5 mm below the fuel to 5 mm above the foot (" PRACTICE ")");
    e.sizes("carburetor.main.hole_diameter", {hole, hole, hole, hole}, share(0.2),
            "holes of 2.2 air jets' area in all (" PRACTICE ")");
    e.other("carburetor.main.hole_count", "[3, 3, 3, 3]", "three holes in each row (" PRACTICE ")");
  }
}

void estimate_slow(Estimator& e, bool lifts) {
  const double throttle = e("carburetor.throttle.bore");
  estimate_jet(e, "carburetor.slow.jet", (lifts ? 0.0105 : 0.015) * throttle, share(0.12),
               lifts ? "0.0105 bores (" PRACTICE ")" : "0.015 bores (" PRACTICE ")");
  estimate_jet(e, "carburetor.slow.air_jet", (lifts ? 2.8 : 1.9) * e("carburetor.slow.jet.bore"), share(0.15),
               lifts ? "2.8 slow jets (" PRACTICE ")" : "1.9 slow jets (" PRACTICE ")");
  e.size("carburetor.slow.channel_height", e("carburetor.main.lip") + (lifts ? 6 : 8) * mm, within(4 * mm),
         lifts ? "6 mm above the nozzle's lip (" PRACTICE ")" : "8 mm above the nozzle's lip (" PRACTICE ")");
  e.other("carburetor.slow.source", lifts ? "\"bowl\"" : "\"well\"",
          lifts ? "from the bowl, usual with a piston (" PRACTICE ")"
                : "from the main well, usual with a fixed venturi (" PRACTICE ")");
  e.size("carburetor.screw.turns", 2.0, within(1.0), "two turns out (" PRACTICE ")");
  const double idle = e("idle_speed") > 0.0 ? e("idle_speed") : 1100.0 * rpm;
  e.size("carburetor.throttle.idle_stop", idle_stop_guess(e.known(), idle), within(0.5 * degree),
         "open for the air of an idle (choked flow through the plate's gap)");
  if (e.gives("carburetor.ports.position") || e.gives("carburetor.ports.diameter")) return;
  // Where the plate's edge rests.
  const double edge = 0.5 * throttle * std::sin(e("carburetor.throttle.idle_stop")) /
                      std::cos(e("carburetor.throttle.closed_angle"));
  const double port = 0.021 * throttle, first = edge + 0.2 * mm + 0.5 * port, step = 0.033 * throttle;
  std::vector<double> places;
  for (int i = 0; i < (lifts ? 3 : 4); ++i) places.push_back(first + step * i);
  e.sizes("carburetor.ports.position", places, within(0.3 * mm),
          "the first begins 0.2 mm above the plate's edge on its stop, the others 0.033 bores apart (plate "
          "geometry; " PRACTICE ")");
  e.sizes("carburetor.ports.diameter", std::vector<double>(places.size(), (lifts ? 0.016 : 0.021) * throttle),
          share(0.12), lifts ? "0.016 bores (" PRACTICE ")" : "0.021 bores (" PRACTICE ")");
}

void estimate_throat(Estimator& e, bool lifts) {
  const double all = displacement(e);
  e.size("carburetor.throttle.bore", 1.35 * std::sqrt(all / cm3) * mm, share(0.12),
         "1.35 mm times the root of the displacement in cm3 (" PRACTICE ")");
  const double throttle = e("carburetor.throttle.bore");
  e.size("carburetor.throttle.shaft", 0.22 * throttle, share(0.12), "0.22 bores (" PRACTICE ")");
  e.size("carburetor.bore_length", 2.6 * throttle, share(0.15), "2.6 bores (" PRACTICE ")");
  e.size("carburetor.mixing_volume", 1.2 * throttle * circle(throttle), share(0.25),
         "1.2 bores' length of bore between throat and plate (geometry)");
  if (!lifts) {
    e.size("carburetor.venturi.diameter", 0.82 * throttle, share(0.06),
           "0.82 of the bore: 0.7 to 0.9 is usual (" PRACTICE ")");
    e.size("carburetor.venturi.signal", 1.1, share(0.15),
           "1.1, a nozzle that stands in the throat (by judgement)");
    e.other("carburetor.choke.fitted", "true", "a choke plate (" PRACTICE ")");
  } else {
    e.size("carburetor.venturi.loss", 0.8, share(0.25), "0.8, a sharp step behind the piston (by judgement)");
    e.size("carburetor.venturi.discharge", 0.85, share(0.08), "0.85, a gap below a piston (by judgement)");
    e.size("carburetor.piston.slide_diameter", throttle, share(0.03), "that of the bore");
    e.size("carburetor.piston.diaphragm_diameter", 1.55 * throttle, share(0.08), "1.55 bores (" PRACTICE ")");
    e.size("carburetor.piston.travel", 0.95 * throttle, share(0.06), "0.95 bores (" PRACTICE ")");
    estimate_needle(e);
  }
  e.size("carburetor.choke.bore", 1.17 * throttle, share(0.08), "1.17 bores, the air horn (" PRACTICE ")");
}

void estimate_pump_and_start(Estimator& e, bool lifts) {
  if (e.gives("carburetor.pump.volume") || e.gives("carburetor.pump.stroke"))
    e.other("carburetor.pump.fitted", "true", "its stroke is given");
  estimate_jet(e, "carburetor.pump.nozzle", 0.5 * mm, share(0.2), "0.5 mm (" PRACTICE ")");
  if (lifts)
    e.other("carburetor.enrichment.fitted", "true",
            "an enrichment circuit, usual with a piston (" PRACTICE ")");
  estimate_jet(e, "carburetor.enrichment.jet", 0.0095 * e("carburetor.throttle.bore"), share(0.25),
               "0.0095 bores (" PRACTICE ")");
  estimate_jet(e, "carburetor.enrichment.air_jet", 0.08 * e("carburetor.throttle.bore"), share(0.3),
               "0.08 bores (" PRACTICE ")");
  e.size("carburetor.enrichment.air_jet.length", 6 * mm, share(0.3), "6 mm (" PRACTICE ")");
}

}  // namespace

double idle_stop_guess(const KnownValues& known, double speed) {
  m::ThrottlePlate<double> plate;
  plate.bore = known.number("carburetor.throttle.bore");
  plate.shaft = known.number("carburetor.throttle.shaft");
  plate.closed_angle = known.number("carburetor.throttle.closed_angle");
  plate.contraction = known.number("carburetor.throttle.contraction");
  plate.leak_area = known.number("carburetor.throttle.leak_area");
  const double all = circle(known.number("engine.bore")) * known.number("engine.stroke") *
                     static_cast<double>(known.numbers("engine.firing").size());
  const double wanted = 3.95 * mm2 * all / (250.0 * cm3) * speed / (1300.0 * rpm);
  if (!std::isfinite(wanted + plate.bore + plate.shaft + plate.closed_angle)) return 10.5 * degree;
  double low = plate.closed_angle, high = low + 30.0 * degree;
  for (int i = 0; i < 60; ++i) {
    const double middle = 0.5 * (low + high);
    (m::throttle_effective_area(plate, middle) < wanted ? low : high) = middle;
  }
  return std::max(high, plate.closed_angle + 0.3 * degree);
}

std::vector<Estimate> estimate_missing(KnownValues& known) {
  Estimator e(known);
  e.other("carburetor.kind",
          known.gives("carburetor.needle") || known.gives("carburetor.piston") ? "\"constant_depression\""
                                                                               : "\"fixed_venturi\"",
          "from whether a needle or a vacuum piston is described");
  const bool lifts = known.word("carburetor.kind") == "constant_depression";
  estimate_cylinders(e);
  estimate_engine(e);
  estimate_throat(e, lifts);
  estimate_float(e);
  estimate_main(e, lifts);
  estimate_slow(e, lifts);
  estimate_gas_path(e);
  estimate_pump_and_start(e, lifts);
  return e.take();
}

}  // namespace glassbowl::sim
