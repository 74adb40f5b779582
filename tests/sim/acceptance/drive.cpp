#include "tests/sim/acceptance/drive.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <stdexcept>

#include "models/fluids/atmosphere.hpp"
#include "sim/cases/find_case.hpp"

namespace glassbowl::sim {
namespace {

/// How each run is cut down: films settle less, schedules run faster. A piston run shares its namesake's.
const std::map<std::string, Sets>& cuts() {
  static const Sets blip{"load.released=-0.7 s", "run.settle=1.5 s", "run.duration=0.9 s"};
  static const std::map<std::string, Sets> all{
      {"warm_idle", {"load.released=-0.5 s", "run.settle=3.5 s", "run.duration=1.5 s"}},
      {"slow_sweep",
       {R"(rider.throttle=[["0.2 s", "0 %"], ["1.7 s", "20 %"], ["2.7 s", "100 %"]])", "run.settle=0.6 s",
        "run.duration=3 s"}},
      {"full_throttle_pull",
       {R"(load.speed=[["0 s", "2500 1/min"], ["2 s", "6000 1/min"]])", "run.settle=0.6 s",
        "run.duration=2 s"}},
      {"blip", blip},
      {"blip_no_pump", blip},
      {"blip_weak_pump", blip},
      {"tip_in", {"run.settle=1 s", "run.duration=1.5 s"}},
      {"cold_start", {"run.duration=3 s"}},
      {"climb",
       {R"(air.altitude=[["0.5 s", "0 m"], ["1 s", "1219 m"], ["1.5 s", "2000 m"], ["2 s", "2700 m"]])",
        "run.settle=0.6 s", "run.duration=2.5 s"}},
      {"starvation", {"run.settle=0.6 s", "run.duration=2.5 s"}},
  };
  return all;
}

}  // namespace

Sets joined(Sets first, const Sets& second) {
  first.insert(first.end(), second.begin(), second.end());
  return first;
}

ResolvedCase shipped(const std::string& name, const Sets& sets) {
  return read_case(find_case(name), sets);
}

std::vector<std::string> shipped_runs() {
  std::vector<std::string> names;
  for (const auto& file : shipped_files("runs")) names.push_back(file.name);
  return names;
}

ResolvedCase shortened(const std::string& name, const Sets& sets) {
  const std::string plain = name.ends_with("_piston") ? name.substr(0, name.size() - 7) : name;
  const auto found = cuts().find(plain);
  if (found == cuts().end()) throw std::logic_error("no cut is known for the run " + name);
  return shipped(name, joined(found->second, sets));
}

Drive::Drive(const ResolvedCase& resolved)
    : simulation_(resolved.bike, resolved.plan.step), stops_(resolved.bike, resolved.plan.duration) {
  simulation_.set_time(-resolved.plan.settle);
}

bool Drive::to(double time, const std::function<void(const Cycle&)>& on_cycle) {
  while (simulation_.time() < time && !simulation_.stalled())
    simulation_.advance(stops_.next(simulation_.time(), time), on_cycle);
  return !simulation_.stalled();
}

bool Drive::to(double time, double interval, const std::function<void(const Outputs<double>&)>& look) {
  const double begin = simulation_.time();
  for (long i = 1; simulation_.time() < time && !simulation_.stalled(); ++i) {
    to(std::min(begin + static_cast<double>(i) * interval, time));
    look(simulation_.outputs());
  }
  return !simulation_.stalled();
}

Means mean_of(const std::vector<Cycle>& cycles, double stoichiometric) {
  if (cycles.empty()) throw std::logic_error("no cycle to average");
  Means out;
  out.outlets.assign(cycles.front().ports.size() + 4, 0.0);
  out.richest = INFINITY;
  double time = 0.0, angle = 0.0, work = 0.0, indicated = 0.0, charges = 0.0;
  for (const Cycle& cycle : cycles) {
    const double dt = cycle.duration;
    time += dt;
    angle += cycle.speed * dt;
    work += cycle.torque * cycle.speed * dt;
    indicated += cycle.indicated_torque * cycle.speed * dt;
    out.air += cycle.air_flow * dt;
    out.fuel += cycle.fuel_flow * dt;
    out.lift += cycle.lift * dt;
    std::size_t at = 0;
    const auto add = [&](double flow) { out.outlets[at++] += flow * dt; };
    add(cycle.idle);
    for (const double port : cycle.ports) add(port);
    for (const double flow : {cycle.main, cycle.pump, cycle.enrichment}) add(flow);
    for (const Trapped& charge : cycle.cylinders) {
      out.trapped += charge.lambda;
      charges += 1.0;
      out.richest = std::min(out.richest, charge.lambda);
      out.leanest = std::max(out.leanest, charge.lambda);
    }
  }
  out.lambda = out.air / (stoichiometric * out.fuel);
  out.trapped /= charges;
  for (double* value : {&out.air, &out.fuel, &out.lift}) *value /= time;
  for (double& flow : out.outlets) flow /= time;
  out.speed = angle / time;
  out.power = work / time;
  out.torque = work / angle;
  out.indicated = indicated / angle;
  return out;
}

Means steady_point(const std::string& run, double opening, double speed, const Sets& sets, double settle) {
  return steady_sweep(run, {opening}, speed, joined({fmt::format("run.settle={} s", settle)}, sets), 1.25)
      .front();
}

std::vector<Means> steady_sweep(const std::string& run, const std::vector<double>& openings, double speed,
                                const Sets& sets, double hold) {
  std::string steps;
  for (std::size_t i = 0; i < openings.size(); ++i) {
    const double begin = static_cast<double>(i) * hold;
    if (i > 0) steps += fmt::format(R"(["{} s", "{} %"], )", begin, openings[i - 1]);
    steps += fmt::format(R"(["{} s", "{} %"], )", begin + 0.01, openings[i]);
  }
  const double end = static_cast<double>(openings.size()) * hold;
  // Films on dry walls need longer for the first opening than from one to the next.
  const Sets base{"load.kind=held_speed", fmt::format("load.speed={} 1/min", speed), "run.settle=3 s",
                  fmt::format("run.duration={} s", end), "rider.throttle=[" + steps + "]"};
  Drive drive(shipped(run, joined(base, sets)));
  std::vector<Means> out;
  std::vector<Cycle> cycles;
  const auto keep = [&](const Cycle& cycle) { cycles.push_back(cycle); };
  for (std::size_t i = 0; i < openings.size(); ++i) {
    const double begin = static_cast<double>(i) * hold;
    drive.to(begin + 0.6 * hold);
    cycles.clear();
    drive.to(begin + hold, keep);
    out.push_back(mean_of(cycles, drive.stoichiometric()));
  }
  return out;
}

Sets at_altitude(double altitude) {
  const double kelvin = models::standard_atmosphere(altitude, 0.0).temperature;
  return {fmt::format("air.altitude={} m", altitude),
          fmt::format("air.temperature={} degC", kelvin - 273.15)};
}

}  // namespace glassbowl::sim
