#include "sim/bike/plausibility.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "models/engine/crank_geometry.hpp"

namespace glassbowl::sim {
namespace {

constexpr double degree = m::constants::pi / 180.0;
constexpr double per_minute = m::constants::pi / 30.0;
constexpr const char* practice = "common practice, no published source";

/// A size and what sound ones lie between, all in one unit for people.
struct Size {
  const char* path;
  double value, low, high;
  const char* unit;                   ///< with its blank, as it stands behind a number
  std::string of;                     ///< "engines of 750 cm3 have"
  const char* origin;                 ///< of the range
  const char *too_small, *too_large;  ///< what would happen
};

void judge(Keys& keys, const Size& s) {
  if (s.value >= s.low && s.value <= s.high) return;
  keys.warning(s.path,
               fmt::format("{:.3g}{} is outside {:.3g} to {:.3g}{}, which {} ({}): {}. Measure it again",
                           s.value, s.unit, s.low, s.high, s.unit, s.of, s.origin,
                           s.value < s.low ? s.too_small : s.too_large));
}

/// [cm³] of all cylinders, which the one carburetor feeds.
double displacement_fed(const Engine<double>& engine) {
  return m::displacement(engine.crank) * static_cast<double>(engine.firing.size()) * 1e6;
}

void judge_sizes(Keys& keys, const Bike<double>& bike) {
  const auto& e = bike.engine;
  const auto& c = bike.carburetor;
  const double volume = displacement_fed(e), root = std::sqrt(volume);
  const std::string engines = fmt::format("carburetors for {:.0f} cm3 have", volume);
  judge(keys, {"carburetor.throttle.bore", c.throttle.bore * 1e3, root, 2.9 * root, " mm", engines, practice,
               "air is short at full throttle, and the depression makes it rich there",
               "the depression at the nozzle is weak: lean and sluggish until the speed is high"});
  judge(keys, {"carburetor.main.jet.bore", c.main.main_jet.bore * 1e3, 0.035 * root, 0.13 * root, " mm",
               engines, practice, "too lean from half throttle on, which overheats and seizes pistons",
               "so rich from half throttle on that it fouls plugs and misfires"});
  judge(keys, {"carburetor.slow.jet.bore", c.slow.fuel_jet.bore * 1e3, 0.25, 1.0, " mm", "carburetors have",
               practice, "too lean at idle and small openings: it starts badly and dies away",
               "too rich at idle and small openings: it fouls plugs"});
  judge(keys,
        {"engine.compression_ratio", e.crank.compression_ratio, 5.5, 11.0, "",
         "older carburetted motorcycles have", practice, "starting and torque are poor",
         "it would knock on pump fuel, which can hole pistons. Knock is not modelled, so check timing and "
         "the fuel's octane number"});
  judge(keys, {"engine.stroke", e.crank.stroke / e.crank.bore, 0.45, 1.7, " bores", "engines have", practice,
               "displacement, and with it all air and fuel, is computed for another engine",
               "displacement, and with it all air and fuel, is computed for another engine"});
  judge(keys, {"engine.rod", e.crank.rod / e.crank.stroke, 1.4, 2.6, " strokes", "engines have", practice,
               "the piston would strike the crank or the rod the liner",
               "the piston's motion is computed for another engine"});
  judge(keys, {"runner.diameter", bike.path.runner_diameter / e.intake.diameter, 0.6, 1.25,
               " intake valve heads", "engines have", practice, "air is short at high speed",
               "the gas is slow: films grow and throttle response suffers"});
  judge(keys, {"float.level", (c.main.lip - c.bowl.level) * 1e3, 1.0, 25.0, " mm below the nozzle lip",
               "float bowls have", practice, "it drips or floods on a slope and on its side stand",
               "the main nozzle begins late, with a lean flat spot before it"});
}

void judge_valves(Keys& keys, const Engine<double>& e) {
  const double bore = e.crank.bore;
  const double both = e.intake.diameter + e.exhaust.diameter;
  const double area = (e.intake.count * e.intake.diameter * e.intake.diameter +
                       e.exhaust.count * e.exhaust.diameter * e.exhaust.diameter) /
                      (bore * bore);
  // Two circles fit into one if their diameters together are no more than its own; four or five equal ones
  // cover at most 0.69 of it.
  constexpr double most_covered = 0.70;
  const bool two = e.intake.count + e.exhaust.count < 2.5;
  if (two ? both > bore : area > most_covered) {
    keys.warning(
        "engine.intake.diameter",
        fmt::format(
            "intake and exhaust valves of {:.1f} and {:.1f} mm do not fit side by side into a bore of "
            "{:.1f} mm ({}): air, and every jet advised for it, come out too large. Check bore and valves",
            e.intake.diameter * 1e3, e.exhaust.diameter * 1e3, bore * 1e3,
            two ? fmt::format("together {:.1f} mm", both * 1e3)
                : fmt::format("all heads would cover {:.0f} % of it, {:.0f} % is the most", 100.0 * area,
                              100.0 * most_covered)));
    return;
  }
  constexpr const char* table = "Heywood 1988, table 6.1, has 0.42 to 0.50 and 0.34 to 0.43, from memory";
  if (e.intake.count == 1.0)
    judge(keys, {"engine.intake.diameter", e.intake.diameter / bore, 0.33, 0.56, " bores", "engines have",
                 table, "air is short at high speed", "it leaves no room for the exhaust valve"});
  if (e.exhaust.count == 1.0)
    judge(keys, {"engine.exhaust.diameter", e.exhaust.diameter / bore, 0.28, 0.50, " bores", "engines have",
                 table, "burned gas stays in the cylinder", "it leaves no room for the intake valve"});
}

void judge_spark(Keys& keys, const Engine<double>& e) {
  constexpr double idle = 1000.0 * per_minute, idle_most = 30.0 * degree, most = 48.0 * degree;
  const double at_idle = e.combustion.advance(idle);
  if (at_idle > idle_most)
    keys.warning(
        "engine.combustion.advance",
        fmt::format("the spark comes {:.0f} deg before top dead centre at 1,000 rpm, where 0 to 20 deg "
                    "is usual and {:.0f} the most ({}): the engine kicks back, which can break a leg or "
                    "the starter, and idles badly. Check the table",
                    at_idle / degree, idle_most / degree, practice));
  double highest = 0.0;
  for (int speed = 500; speed <= 12000; speed += 250)
    highest = std::max(highest, e.combustion.advance(speed * per_minute));
  if (highest > most)
    keys.warning(
        "engine.combustion.advance",
        fmt::format("the spark comes up to {:.0f} deg before top dead centre, beyond {:.0f} ({}): under "
                    "load it would knock, which can hole pistons and is not modelled. Check the table",
                    highest / degree, most / degree, practice));
}

/// Throttle opening [-] at which the plate's edge comes to a place upstream of the shaft.
double opening_at(const Carburetor<double>& c, double place) {
  const double sine = std::min(1.0, place * std::cos(c.throttle.closed_angle) / (0.5 * c.throttle.bore));
  return (std::asin(sine) - c.idle_stop) / (c.throttle.open_angle - c.idle_stop);
}

void judge_ports(Keys& keys, const Carburetor<double>& c) {
  const auto lower = [](const auto& port) { return port.position - 0.5 * port.diameter; };
  const auto upper = [](const auto& port) { return port.position + 0.5 * port.diameter; };
  const double edge = m::throttle_edge_position(c.throttle, c.idle_stop);
  double first = INFINITY, last = -INFINITY;
  std::size_t passed = 0;
  for (const auto& port : c.ports) {
    first = std::min(first, lower(port));
    last = std::max(last, upper(port));
    passed += edge >= upper(port) ? 1 : 0;
  }
  if (passed > 0)
    keys.warning(
        "carburetor.throttle.idle_stop",
        fmt::format(
            "at idle the plate's edge stands {:.2f} mm upstream of the shaft, past {} of {} transfer "
            "ports: {}. Check the idle stop, or scale the ports with the bore",
            edge * 1e3, passed, c.ports.size(),
            passed == c.ports.size()
                ? "none is left to feed as it opens: it will go lean and stumble off idle"
                : "they feed at idle already, where the mixture screw then does little, and fewer are "
                  "left as it opens"));
  constexpr double latest = 0.08, earliest_end = 0.06;
  if (passed < c.ports.size() && opening_at(c, first) > latest)
    keys.warning(
        "carburetor.ports.position",
        fmt::format("the plate's edge reaches the first transfer port at {:.0f} % throttle only: it will "
                    "go lean and may misfire from idle until there. Check the positions, or scale them "
                    "with the bore",
                    100.0 * opening_at(c, first)));
  if (passed < c.ports.size() && opening_at(c, last) < earliest_end)
    keys.warning(
        "carburetor.ports.position",
        fmt::format("the plate's edge has passed the last transfer port at {:.1f} % throttle: it will go "
                    "lean from there until the main nozzle feeds. Check the positions, or scale them "
                    "with the bore",
                    100.0 * opening_at(c, last)));
}

void judge_circuits(Keys& keys, const Carburetor<double>& c) {
  if (c.ports.empty())
    keys.warning(
        "carburetor.ports.position",
        "there are no transfer ports: nothing feeds between the idle outlet and the main nozzle, and the "
        "engine will go lean and misfire from about 3 to 15 % throttle (`glassbowl check` computes "
        "where). Measure the holes above the closed plate's edge");
  else
    judge_ports(keys, c);
  if (c.kind == CarburetorKind::fixed_venturi && !c.pump.fitted)
    keys.warning("carburetor.pump.fitted",
                 "there is no accelerator pump: when the throttle is snapped open the engine goes lean and "
                 "hesitates or spits back. Keep it so only if the carburetor has none");
  if (!c.choke.fitted && !c.enrichment.fitted)
    keys.warning(
        "carburetor.choke.fitted",
        "there is neither a choke plate nor an enrichment circuit: a cold engine will not start, or die. "
        "Describe the one that is fitted");
}

}  // namespace

void warn_of_the_implausible(Keys& keys, const Bike<double>& bike) {
  judge_sizes(keys, bike);
  judge_valves(keys, bike.engine);
  judge_spark(keys, bike.engine);
  judge_circuits(keys, bike.carburetor);
}

}  // namespace glassbowl::sim
