#include "sim/points/steady_point.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <utility>

#include "models/constants.hpp"
#include "models/fluids/atmosphere.hpp"
#include "sim/api/error.hpp"
#include "sim/run/lean_limit_under_load.hpp"
#include "sim/run/version.hpp"
#include "sim/steady/convergence_monitor.hpp"

namespace glassbowl::sim {
namespace {

constexpr double efficiency = 1.0 / 3.0;  // of a charge, for its swing
// [-] openings below which a search takes about three times and twice as long: an exhaust renewed slowly, and
// circuits that hand over
constexpr double nearly_shut = 0.06, hardly_open = 0.15;

SteadyFigures mean_of(const std::vector<Cycle>& cycles, double stoichiometric) {
  SteadyFigures f;
  const auto mean = [&](auto value) {
    double sum = 0.0;
    for (const auto& c : cycles) sum += value(c);
    return sum / static_cast<double>(cycles.size());
  };
  f.air = mean([](const Cycle& c) { return c.air_flow; });
  f.fuel = mean([](const Cycle& c) { return c.fuel_flow; });
  f.lambda = f.air / f.fuel / stoichiometric;
  f.idle = mean([](const Cycle& c) { return c.idle; });
  f.main = mean([](const Cycle& c) { return c.main; });
  f.pump = mean([](const Cycle& c) { return c.pump; });
  f.enrichment = mean([](const Cycle& c) { return c.enrichment; });
  f.ports = mean([](const Cycle& c) {
    double sum = 0.0;
    for (const double p : c.ports) sum += p;
    return sum;
  });
  f.torque = mean([](const Cycle& c) { return c.torque; });
  f.indicated = mean([](const Cycle& c) { return c.indicated_torque; });
  f.manifold = mean([](const Cycle& c) { return c.manifold_pressure; });
  f.depression = mean([](const Cycle& c) { return c.depression; });
  f.lift = mean([](const Cycle& c) { return c.lift; });
  double charges = 0.0, missed = 0.0, sum = 0.0;
  f.leanest = 0.0;
  f.richest = INFINITY;
  for (const auto& c : cycles)
    for (const auto& t : c.cylinders) {
      charges += 1.0;
      if (misfired(t.ignited)) missed += 1.0;
      sum += 1.0 / t.lambda;  // fuel over air adds up, lambda does not
      f.leanest = std::max(f.leanest, t.lambda);
      f.richest = std::min(f.richest, t.lambda);
    }
  f.trapped = charges / sum;
  f.misfires = missed / charges;
  return f;
}

double air_per_charge(const Bike<double>& bike, double air_flow, double speed) {
  return air_flow * 4.0 * m::constants::pi / speed / static_cast<double>(bike.engine.firing.size());
}

/// A control that never changes as one value; one that does is left, and the search refuses it.
void hold(m::Schedule<>& control) {
  if (const auto value = held_value(control)) control = m::Schedule<>::constant(*value);
}

/// `bike` at a place: what `sets_at` says, without reading the case again.
Bike<double> at_place(Bike<double> bike, const Place& place) {
  using Fixed = m::Schedule<>;
  bike.load.kind = m::LoadKind::held_speed;
  bike.load.speed = Fixed::constant(place.speed);
  bike.rider.throttle = Fixed::constant(place.opening);
  bike.rider.starter = Fixed::constant(0.0);
  hold(bike.rider.choke);
  hold(bike.rider.tap);
  bike.air.altitude = Fixed::constant(place.altitude);
  bike.air.warmer = place.warmer;
  // With its plunger down the enrichment feeds nothing, and its still channel would only ring.
  if (held_value(bike.rider.choke) == 0.0) bike.carburetor.enrichment.fitted = false;
  return bike;
}

/// Takes a running bike to another place, with all that it holds.
void move_to(Simulation& simulation, const Bike<double>& bike, const Place& place) {
  simulation.change_bike(at_place(bike, place));
  const auto& states = simulation.network().states();
  simulation.state()[states.crank.index(&m::CrankState<double>::speed)] = place.speed;
}

/// A steady point, left in `out`, by one search; by way of the cycle that repeats at `from` where there is
/// one. Throws what the solver throws.
March march_to_figures(const ResolvedCase& resolved, std::optional<Place> from, Place place,
                       SteadyOptions options, SteadyFigures& out) {
  Simulation simulation(at_place(resolved.bike, from.value_or(place)), resolved.plan.step);
  if (from) {
    SteadyCycle left;
    March search = march_to_steady_cycle(simulation, options, left);
    co_yield search;
    move_to(simulation, resolved.bike, place);
  }
  const Bike<double>& bike = simulation.network().bike();
  SteadyCycle found;
  March search = march_to_steady_cycle(simulation, options, found);
  co_yield search;
  auto& cycles = found.last;
  if (!found.converged && std::cmp_less(cycles.size(), ConvergenceMonitor::seen_in)) {
    cycles.clear();
    const std::function<void(const Cycle&)> keep = [&](const Cycle& c) { cycles.push_back(c); };
    co_yield Leg{&simulation,
                 simulation.time() + ConvergenceMonitor::seen_in * 4.0 * m::constants::pi / place.speed,
                 &keep};
  }
  out = mean_of(cycles, bike.fuel.stoichiometric_ratio);
  out.state = found.converged ? 0.0 : 1.0;
  out.cycles = found.cycles;
  out.power = out.torque * place.speed;
  out.filling = filling_of(bike, air_per_charge(bike, out.air, place.speed));
  out.swing = swing_of(bike, out.air, place.speed);
  out.opening = place.opening;
}

/// A steady point, left in `out`; `failed` where there is none, with the reason in `why_not`. What fails by
/// longer steps is searched for from the beginning by the case's own.
March march_to_point(std::shared_ptr<const SharedCase> base, std::optional<Place> from, Place place,
                     PointAccuracy accuracy, SteadyFigures& out, std::string& why_not) {
  const SteadyOptions first{accuracy.tolerance, accuracy.in_a_row, accuracy.most_cycles};
  SteadyOptions by_own_steps = first;
  by_own_steps.longer_steps = false;
  for (const SteadyOptions& options : {first, by_own_steps}) {
    out = {};
    why_not.clear();
    try {
      March search = march_to_figures(base->resolved(), from, place, options, out);
      co_yield search;
      co_return;
    } catch (const Error& failure) {
      why_not = failure.what();
      if (failure.kind() == ErrorKind::file) throw;
      if (failure.kind() != ErrorKind::solver) break;  // a variant that is no legal case
    }
  }
  out = {};
}

March march_to_task(std::shared_ptr<const SharedCase> base, std::optional<Place> from, Place place,
                    PointAccuracy accuracy, PointResult& result) {
  SteadyFigures figures;
  std::string why_not;
  March point = march_to_point(base, from, place, accuracy, figures, why_not);
  co_yield point;
  result = {to_values(figures), why_not};
}

/// The opening for a torque by bisection; each trial is a point.
March march_to_torque(std::shared_ptr<const SharedCase> base, Place place, double torque,
                      PointAccuracy accuracy, PointResult& result) {
  SteadyFigures high, middle;
  std::string why_not;
  March wide_open = march_to_point(base, std::nullopt, place, accuracy, high, why_not);
  co_yield wide_open;
  result = {to_values(SteadyFigures{}), why_not};
  if (!(torque > 0.0) || !high.usable() || high.torque < torque) co_return;
  const auto reached = [&] { return std::abs(high.torque - torque) <= 0.003 * torque; };
  double low_opening = 0.0, high_opening = place.opening;
  for (int i = 0; i < 12 && !reached(); ++i) {
    Place at = place;
    at.opening = 0.5 * (low_opening + high_opening);
    March point = march_to_point(base, std::nullopt, at, accuracy, middle, why_not);
    co_yield point;
    if (!middle.usable()) {
      result = {to_values(SteadyFigures{}), why_not};
      co_return;
    }
    if (middle.torque >= torque) {
      high = middle;
      high_opening = at.opening;
    } else {
      low_opening = at.opening;
    }
  }
  if (reached()) result = to_values(high);
}

std::string key_of(const std::string& kind, const std::string& case_digest, const Sets& sets,
                   const Place& place, const PointAccuracy& a) {
  return fmt::format("{}\n{}\n{}\n{}\n{:a} {} {}\n{}", point_digest(), kind, fmt::join(sets, "\n"),
                     fmt::join(sets_at(place), "\n"), a.tolerance, a.in_a_row, a.most_cycles, case_digest);
}

std::string name_of(const SharedCase& base, const Place& place) {
  std::string name =
      fmt::format("{:.0f} rpm, {:.3g} % throttle, {:.0f} m", place.speed * 30.0 / m::constants::pi,
                  place.opening * 100.0, place.altitude);
  if (place.warmer != 0.0) name += fmt::format(", {:+.0f} K", place.warmer);
  if (!base.sets().empty()) name += fmt::format(", {}", fmt::join(base.sets(), ", "));
  return name;
}

}  // namespace

constexpr SteadyColumn columns[] = {
    {"state", "1", "0 repeats itself, 1 does not (means over the last cycles), 2 not computed",
     &SteadyFigures::state},
    {"cycles", "1", "engine cycles marched until then", &SteadyFigures::cycles},
    {"lambda", "1", "lambda at the carburetor", &SteadyFigures::lambda},
    {"lambda_trapped", "1", "lambda of the trapped charges, all cylinders", &SteadyFigures::trapped},
    {"lambda_leanest", "1", "lambda of the leanest cylinder's charge", &SteadyFigures::leanest},
    {"lambda_richest", "1", "lambda of the richest cylinder's charge", &SteadyFigures::richest},
    {"misfires", "1", "share of charges that did not light", &SteadyFigures::misfires},
    {"air_flow", "kg/s", "air out of the carburetor", &SteadyFigures::air},
    {"fuel_flow", "kg/s", "fuel out of the carburetor", &SteadyFigures::fuel},
    {"idle_fuel_flow", "kg/s", "fuel from the idle outlet", &SteadyFigures::idle},
    {"ports_fuel_flow", "kg/s", "fuel from all transfer ports", &SteadyFigures::ports},
    {"main_fuel_flow", "kg/s", "fuel from the main nozzle", &SteadyFigures::main},
    {"pump_fuel_flow", "kg/s", "fuel from the accelerator pump", &SteadyFigures::pump},
    {"enrichment_fuel_flow", "kg/s", "fuel from the enrichment circuit", &SteadyFigures::enrichment},
    {"torque", "N m", "torque at the shaft", &SteadyFigures::torque},
    {"indicated_torque", "N m", "torque of the gas", &SteadyFigures::indicated},
    {"power", "W", "power at the shaft", &SteadyFigures::power},
    {"manifold_pressure", "Pa", "mean manifold pressure", &SteadyFigures::manifold},
    {"filling", "1", "air per cycle over displacement full of standard air at sea level",
     &SteadyFigures::filling},
    {"swing", "1", "share of its speed that the crank loses between two firings", &SteadyFigures::swing},
    {"depression", "Pa", "mean depression at the nozzle", &SteadyFigures::depression},
    {"piston_lift", "m", "mean lift of the vacuum piston", &SteadyFigures::lift},
    {"throttle_found", "1", "throttle opening at which the point was computed", &SteadyFigures::opening},
    {"jump", "1", "1 where lambda jumps to a neighbouring point", &SteadyFigures::jump},
    {"lambda_other", "1", "lambda of a second cycle that repeats here, mean of all cylinders",
     &SteadyFigures::other},
    {"lambda_leanest_other", "1", "its leanest cylinder", &SteadyFigures::other_leanest},
    {"torque_other", "N m", "its brake torque", &SteadyFigures::other_torque},
};
// None forgotten: all members are figures.
static_assert(sizeof(SteadyFigures) == std::size(columns) * sizeof(double));
const std::span<const SteadyColumn> steady_columns(columns);

double swing_of(const Bike<double>& bike, double air_flow, double speed) {
  const double energy = efficiency * bike.fuel.heating_value * air_per_charge(bike, air_flow, speed) /
                        bike.fuel.stoichiometric_ratio;
  return energy / (bike.engine.inertia * speed * speed);
}

std::vector<double> to_values(const SteadyFigures& figures) {
  std::vector<double> out;
  for (const auto& column : steady_columns) out.push_back(figures.*column.value);
  return out;
}

SteadyFigures to_figures(const std::vector<double>& values) {
  SteadyFigures out;
  if (values.size() != steady_columns.size()) return out;
  for (std::size_t i = 0; i < values.size(); ++i) out.*steady_columns[i].value = values[i];
  return out;
}

std::optional<double> held_value(const m::Schedule<>& schedule) {
  const double first = schedule.points().front().second;
  for (const auto& point : schedule.points())
    if (point.second != first) return std::nullopt;
  return first;
}

Sets sets_at(const Place& place) {
  const double kelvin = m::standard_atmosphere(place.altitude, place.warmer).temperature;
  return {"load.kind=held_speed",
          fmt::format("load.speed={:.17g} rad/s", place.speed),
          fmt::format("rider.throttle={:.17g} %", place.opening * 100.0),
          "rider.starter=0 %",
          fmt::format("air.altitude={:.17g} m", place.altitude),
          fmt::format("air.temperature={:.17g} K", kelvin)};
}

namespace {

double effort_of(const Place& place) {
  const double times = place.opening < nearly_shut ? 3.0 : place.opening < hardly_open ? 2.0 : 1.0;
  return times / place.speed;
}

}  // namespace

PointTask steady_task(std::shared_ptr<const SharedCase> base, const Place& place,
                      const PointAccuracy& accuracy) {
  const auto key = key_of("steady", base->digest(), base->sets(), place, accuracy);
  return {key,
          {},
          [=](PointResult& out) { return march_to_task(base, std::nullopt, place, accuracy, out); },
          base.get(),
          effort_of(place),
          name_of(*base, place)};
}

PointTask steady_task_from(std::shared_ptr<const SharedCase> base, const Place& from, const Place& to,
                           const PointAccuracy& accuracy) {
  const auto key = key_of(fmt::format("steady from {}", fmt::join(sets_at(from), " ")), base->digest(),
                          base->sets(), to, accuracy);
  return {key,
          {},
          [=](PointResult& out) { return march_to_task(base, from, to, accuracy, out); },
          base.get(),
          effort_of(from) + effort_of(to),
          name_of(*base, to)};
}

PointTask steady_task_at_torque(std::shared_ptr<const SharedCase> base, Place place, double torque,
                                const PointAccuracy& accuracy) {
  place.opening = 1.0;
  const auto key =
      key_of(fmt::format("steady at {:a} N m", torque), base->digest(), base->sets(), place, accuracy);
  return {key,     {},  [=](PointResult& out) { return march_to_torque(base, place, torque, accuracy, out); },
          nullptr, 0.0, name_of(*base, place)};
}

std::vector<SteadyFigures> run_steady(PointScheduler& scheduler, const std::vector<PointTask>& tasks) {
  std::vector<SteadyFigures> out;
  for (const auto& values : scheduler.run(tasks)) out.push_back(to_figures(values));
  return out;
}

}  // namespace glassbowl::sim
