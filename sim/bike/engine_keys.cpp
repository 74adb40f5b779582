#include <fmt/format.h>

#include "models/engine/crank_geometry.hpp"
#include "models/engine/valve_lift.hpp"
#include "sim/bike/bike.hpp"
#include "sim/bike/declare_keys.hpp"
#include "sim/cases/usual_spread.hpp"

namespace glassbowl::sim {
namespace {

constexpr double degree = m::constants::pi / 180.0;

constexpr double pi = m::constants::pi;

struct Timing {
  double opens = 0.0, closes = 0.0;  // [rad] before and after the dead centres that name them
};

void declare_valve(Keys& keys, const std::string& path, const std::string& what, const char* opens_key,
                   const char* closes_key, m::Valve<double>& valve, Timing& timing) {
  keys.quantity(path + ".diameter", valve.diameter, "mm", {8, 80}, std::nullopt,
                what + " valve head diameter", usual::turned_bore());
  keys.quantity(path + ".seat_ratio", valve.seat_ratio, units::one, {0.6, 0.98}, "0.9",
                "port bore over head diameter", usual::share(2, "a seat by calliper"));
  keys.quantity(path + ".lift", valve.lift, "mm", {1, 20}, std::nullopt, "greatest valve lift",
                usual::share(2, "a lift by dial gauge"));
  keys.quantity(path + ".count", valve.count, units::one, {1, 3}, "1", "equal valves per cylinder");
  keys.quantity(path + "." + opens_key, timing.opens, units::angle, {-40, 90}, std::nullopt,
                "crank angle at which the valve opens", usual::valve_timing());
  keys.quantity(path + "." + closes_key, timing.closes, units::angle, {-40, 100}, std::nullopt,
                "crank angle at which the valve closes", usual::valve_timing());
  keys.quantity(path + ".clearance_error", valve.clearance_error, "mm", {0, 2}, "0 mm",
                "fault: lash above its setting");
}

/// Does a valve's head reach the piston near top dead centre between exhaust and intake stroke?
void warn_of_contact(Keys& keys, const std::string& path, const Engine<double>& engine,
                     const m::Valve<double>& valve, double pocket) {
  for (double theta = 2.0 * pi - 0.7; theta < 2.0 * pi + 0.7; theta += 0.01) {
    const auto v = m::cylinder_volume(engine.crank, theta);
    const double drop = (v.volume - m::displacement(engine.crank) / (engine.crank.compression_ratio - 1.0)) /
                        circle(engine.crank.bore);
    const double lift = m::valve_lift(valve, theta);
    if (lift > drop + pocket) {
      keys.warning(
          path, fmt::format("{:.0f} deg from top dead centre the valve is {:.1f} mm open with only {:.1f} mm "
                            "to the piston (engine.valve_pocket): it may strike",
                            (theta - 2.0 * pi) * 180.0 / pi, lift * 1e3, (drop + pocket) * 1e3));
      return;
    }
  }
}

}  // namespace

void declare_engine(Keys& keys, Engine<double>& e) {
  keys.quantity("engine.bore", e.crank.bore, "mm", {30, 130}, std::nullopt, "cylinder bore");
  keys.quantity("engine.stroke", e.crank.stroke, "mm", {25, 140}, std::nullopt, "piston stroke");
  keys.quantity("engine.rod", e.crank.rod, "mm", {40, 300}, std::nullopt, "connecting rod, centre to centre");
  keys.quantity("engine.compression_ratio", e.crank.compression_ratio, units::one, {4, 15}, std::nullopt,
                "volume at bottom over volume at top dead centre",
                usual::share(4, "a compression ratio, by its volumes"));
  keys.quantities("engine.firing", e.firing, units::angle, {0, 719}, max_cylinders, std::nullopt,
                  "crank angle at which each cylinder fires, the first at 0 deg");
  keys.quantity("engine.inertia", e.inertia, "kg m2", {0.001, 1}, std::nullopt,
                "crankshaft, flywheel and clutch",
                usual::share(25, "a moment of inertia from drawings or rules"));
  keys.quantity("engine.wall_temperature", e.wall_temperature, units::temperature, {-30, 300}, "150 degC",
                "mean of head, piston and liner", usual::wall_temperature());
  keys.quantity("engine.heat_factor", e.heat_factor, units::one, {0, 3}, "1", "on the wall heat coefficient",
                usual::share(20, "a heat transfer coefficient"));
  keys.quantity("engine.starter_torque", e.starter_torque, "N m", {0, 200}, "80 N m",
                "starter or kick, at standstill");
  keys.quantity("engine.starter_speed", e.starter_speed, units::revolutions_per_minute, {100, 1000},
                "400 rpm", "speed at which the starter stops pulling");
  double pocket = 0.0;
  keys.quantity("engine.valve_pocket", pocket, "mm", {0, 20}, "4 mm",
                "gap between closed valve and piston at top dead centre, for a warning only");

  Timing in, out;
  declare_valve(keys, "engine.intake", "intake", "opens_before_top", "closes_after_bottom", e.intake, in);
  declare_valve(keys, "engine.exhaust", "exhaust", "opens_before_bottom", "closes_after_top", e.exhaust, out);
  e.intake.opens = 2.0 * pi - in.opens;
  e.intake.closes = 3.0 * pi + in.closes;
  e.exhaust.opens = pi - out.opens;
  e.exhaust.closes = 2.0 * pi + out.closes;

  std::vector<Keys::Point> advance;
  auto& c = e.combustion;
  keys.points("engine.combustion.advance", advance, units::revolutions_per_minute, units::angle, {0, 20000},
              {-20, 60}, std::nullopt, "spark before top dead centre over speed",
              usual::within(2.0 * degree, "timing by strobe light"));
  c.advance = m::Schedule<>(std::move(advance));
  keys.quantity("engine.combustion.retard_error", c.retard_error, units::angle, {-20, 60}, "0 deg",
                "fault: late spark");
  keys.quantity("engine.combustion.delay_share", c.delay_share, units::one, {0, 1}, "0.22",
                "spark to start of burn, share of the burn's duration");
  keys.quantity("engine.combustion.duration", c.duration, units::angle, {5, 150}, "52 deg",
                "whole burn at lambda 1 without residual gas",
                usual::share(15, "the duration of burning, which no workshop measures"));
  keys.quantity("engine.combustion.residual_slowing", c.residual_slowing, units::one, {0, 10}, "2.2",
                "relative growth of the duration per residual fraction");
  keys.quantity("engine.combustion.inhomogeneity", c.inhomogeneity, units::one, {0.01, 0.4}, "0.09",
                "scatter of local mixture strength, standard deviation over mean");
  keys.quantity("engine.combustion.lean_limit", c.lean_limit, units::one, {1, 2}, "1.45",
                "lambda at which half lights");
  keys.quantity("engine.combustion.lean_limit_residual", c.lean_limit_residual, units::one, {0, 5}, "1.2",
                "fall of the lean limit per residual fraction above 0.1");
  keys.quantity("engine.combustion.rich_limit", c.rich_limit, units::one, {0.3, 0.9}, "0.52",
                "lambda at which half lights");
  keys.quantity("engine.combustion.limit_width", c.limit_width, units::one, {0.001, 0.2}, "0.02",
                "half width of both limits");
  keys.quantity("engine.combustion.weak_spark", c.weak_spark, units::percent, {0, 100}, "0 %",
                "fault: both limits drawn toward lambda 0.95");

  auto& f = e.friction;
  keys.quantity("engine.friction.constant", f.constant, "bar", {0, 5}, "0.4 bar",
                "mean effective pressure at no speed", usual::share(20, "friction by rule"));
  keys.quantity("engine.friction.linear", f.linear, "bar s/m", {0, 1}, "0.09 bar s/m",
                "per mean piston speed", usual::share(20, "friction by rule"));
  keys.quantity("engine.friction.quadratic", f.quadratic, "bar s2/m2", {0, 0.1}, "0.0009 bar s2/m2",
                "per its square");
  keys.quantity("engine.friction.per_peak", f.per_peak, units::one, {0, 0.05}, "0.005",
                "per peak cylinder pressure");
  keys.quantity("engine.friction.peak_pressure", f.peak_pressure, "bar", {5, 150}, "35 bar",
                "peak cylinder pressure it is taken at");
  keys.quantity("engine.friction.cold_factor", f.cold_factor, units::one, {0.2, 8}, "1",
                "1 warm, 2 to 4 cold");

  if (!keys.sound()) return;
  if (e.firing.empty() || e.firing.front() != 0.0)
    keys.problem("engine.firing", "the first cylinder does not fire at 0 deg",
                 "a list such as [\"0 deg\", \"360 deg\"]");
  if (e.crank.rod < 0.51 * e.crank.stroke)
    keys.problem("engine.rod", "the rod is shorter than the crank's throw allows",
                 "a rod of 1.5 to 2.2 strokes");
  warn_of_contact(keys, "engine.intake.opens_before_top", e, e.intake, pocket);
  warn_of_contact(keys, "engine.exhaust.closes_after_top", e, e.exhaust, pocket);
}

}  // namespace glassbowl::sim
