#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <deque>
#include <optional>
#include <utility>

#include "models/constants.hpp"
#include "sim/cases/find_case.hpp"
#include "sim/studies/steady_map.hpp"
#include "tests/bench/figures.hpp"

namespace glassbowl::bench {

using namespace sim;

namespace {

using Figures4 = std::array<double, 4>;  // trapped lambda, air, torque, film

constexpr double close = 1e-3;    // what "there" means
constexpr std::size_t last = 20;  // cycles whose mean is where a plain march ends

/// Far from `there`: the torque against itself and 1 N m, as it may be near nothing.
double off(const Figures4& here, const Figures4& there) {
  double out = 0.0;
  for (std::size_t i = 0; i < here.size(); ++i) {
    const double one = std::abs(here[i] - there[i]) / (std::abs(there[i]) + (i == 2 ? 1.0 : 0.0));
    out = std::isfinite(one) ? std::max(out, one) : INFINITY;
  }
  return out;
}

Figures4 figures_of(const Cycle& cycle, const Simulation& simulation) {
  const auto& states = simulation.network().states();
  double film = 0.0;
  for (std::size_t k = 0; k < states.cylinders; ++k)
    film += simulation.state()[states.films[k].index(&m::WallFilmState<double>::fuel)];
  return {cycle.lambda_trapped(), cycle.air_flow, cycle.indicated_torque, film};
}

/// Marches plainly for `span` [s]; what every cycle gave.
March march_plainly(ResolvedCase resolved, double speed, double span, std::vector<Figures4>& out) {
  Simulation simulation(resolved.bike, resolved.plan.step);
  const auto& states = simulation.network().states();
  const double tank = simulation.state()[states.tank.index(&m::TankState<double>::fuel_change)];
  Cycle latest;
  const std::function<void(const Cycle&)> keep = [&](const Cycle& c) { latest = c; };
  while (simulation.time() < span) {
    co_yield Leg{&simulation, simulation.time() + 4.0 * m::constants::pi / speed, &keep};
    simulation.state()[states.tank.index(&m::TankState<double>::fuel_change)] = tank;
    if (latest.cylinders.empty()) continue;
    out.push_back(figures_of(latest, simulation));
  }
}

/// What a study's search finds.
struct Found {
  bool converged = false;
  int cycles = 0;
  Figures4 figures{};
  std::vector<Figures4> course;  // of its cycles
};

/// Cycles after which nothing leaves 0.1 % of `end` again.
std::size_t cycles_until_there(const std::vector<Figures4>& course, const Figures4& end) {
  const auto away =
      std::find_if(course.rbegin(), course.rend(), [&](const Figures4& c) { return off(c, end) > close; });
  return static_cast<std::size_t>(course.rend() - away);
}

/// From rest, or from the cycle found at `neighbour` if that is given.
March search(std::optional<ResolvedCase> neighbour, ResolvedCase resolved, Found& out) {
  const PointAccuracy accuracy;
  const SteadyOptions options{accuracy.tolerance, accuracy.in_a_row, accuracy.most_cycles};
  Simulation simulation(neighbour ? neighbour->bike : resolved.bike, resolved.plan.step);
  SteadyCycle found;
  if (neighbour) {
    March steps = march_to_steady_cycle(simulation, options, found);
    co_yield steps;
    simulation.change_bike(resolved.bike);
    found = {};
  }
  for (March steps = march_to_steady_cycle(simulation, options, found); steps.next();) {
    if (std::cmp_less(out.course.size(), found.cycles))
      out.course.push_back(figures_of(found.last.back(), simulation));
    co_yield steps.leg();
  }
  out.course.push_back(figures_of(found.last.back(), simulation));
  out.converged = found.converged;
  out.cycles = found.cycles;
  for (const Cycle& cycle : found.last) {
    const Figures4 one = figures_of(cycle, simulation);
    for (std::size_t i = 0; i < one.size(); ++i)
      out.figures[i] += one[i] / static_cast<double>(found.last.size());
  }
}

/// A case at a place, without its enrichment: with the choke open it feeds nothing.
ResolvedCase still_case(const std::string& text, const Place& place) {
  return read_case_text(text, "point", joined(sets_at(place), {"carburetor.enrichment.fitted=false"}));
}

}  // namespace

/// Over every third place of the default map of both bikes. A plain march is there from the cycle on after
/// which nothing leaves 0.1 % of its end again, as is known afterwards; the search is counted with all cycles
/// that it judges by.
void steady_cycles(Figures& out) {
  std::deque<std::vector<Figures4>> courses;
  std::deque<Found> found, found_near;
  std::vector<PointTask> marches, searches;
  for (const char* bike : {"bikes/mule_750", "bikes/courier_650"}) {
    const auto resolved =
        read_case(find_case(bike), {"load.kind=held_speed", "load.speed=3000 rpm", "run.duration=1 s"});
    const auto grid = grid_of(resolved, {});
    const auto places = grid.places();
    for (std::size_t i = 2; i < places.size(); i += 3) {
      const Place& place = places[i];
      // The next opening at the same speed, a narrower one where there is one.
      const Place& near = places[i % grid.openings.size() == 0 ? i + 1 : i - 1];
      const std::size_t mine = courses.size();
      courses.emplace_back();
      found.emplace_back();
      found_near.emplace_back();
      marches.push_back({fmt::format("plain {}", mine), {}, [&, place, mine, text = resolved.text](auto&) {
                           // Behind a shut throttle the exhaust takes long to be renewed.
                           return march_plainly(still_case(text, place), place.speed,
                                                place.opening < 0.03 ? 45.0 : 16.0, courses[mine]);
                         }});
      searches.push_back(
          {fmt::format("searched {}", mine), {}, [&, place, mine, text = resolved.text](auto&) {
             return search({}, still_case(text, place), found[mine]);
           }});
      searches.push_back({fmt::format("searched from a neighbour {}", mine),
                          {},
                          [&, place, near, mine, text = resolved.text](auto&) {
                            return search(still_case(text, near), still_case(text, place), found_near[mine]);
                          }});
    }
  }
  PointScheduler scheduler(nullptr, 0);
  scheduler.run(marches);
  scheduler.run(searches);

  double plain = 0.0, searched = 0.0, nearby = 0.0, there = 0.0, there_nearby = 0.0, worst = 0.0;
  int repeating = 0, converged = 0, within = 0, found_cold = 0, found_nearby = 0;
  for (std::size_t i = 0; i < courses.size(); ++i) {
    const auto& course = courses[i];
    if (found[i].converged) ++converged;
    if (course.size() < 3 * last) continue;
    Figures4 end{};
    for (std::size_t k = course.size() - last; k < course.size(); ++k)
      for (std::size_t f = 0; f < end.size(); ++f) end[f] += course[k][f] / static_cast<double>(last);
    const std::size_t needed = cycles_until_there(course, end);
    if (needed + last > course.size()) continue;  // it hunts or misfires: no cycle repeats
    ++repeating;
    plain += static_cast<double>(needed);
    searched += found[i].cycles;
    nearby += found_near[i].cycles;
    if (found_near[i].converged) {
      ++found_nearby;
      there_nearby += static_cast<double>(cycles_until_there(found_near[i].course, found_near[i].figures));
    }
    if (!found[i].converged) continue;
    ++found_cold;
    there += static_cast<double>(cycles_until_there(found[i].course, found[i].figures));
    const double error = off(found[i].figures, end);
    worst = std::max(worst, error);
    if (error < close) ++within;
  }
  out.push_back({"cycles to a steady one, plain against searched, cold", plain / searched, 7,
                 Figure::Goal::at_least,
                 fmt::format("{:.0f} against {:.0f} on average over {} points with a cycle that repeats; "
                             "there after {:.0f}, the rest confirm it",
                             plain / repeating, searched / repeating, repeating, there / found_cold)});
  out.push_back({"the same from a neighbour's cycle", plain / nearby, 12, Figure::Goal::at_least,
                 fmt::format("{:.0f} cycles from the next opening's; there after {:.0f}", nearby / repeating,
                             there_nearby / found_nearby)});
  out.push_back(
      {"points of these found, the others marked as not repeating", static_cast<double>(converged),
       static_cast<double>(courses.size()), Figure::Goal::at_least,
       fmt::format("{} within 0.1 % of the plain march's end, all within {:.2g} %", within, 100.0 * worst)});
}

}  // namespace glassbowl::bench
