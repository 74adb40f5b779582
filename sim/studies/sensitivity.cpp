#include "sim/studies/sensitivity.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "sim/api/error.hpp"
#include "sim/api/no_fuel.hpp"
#include "sim/bike/provenance.hpp"
#include "sim/cases/key_units.hpp"
#include "sim/cases/layer.hpp"
#include "sim/cases/quantity.hpp"
#include "sim/report/lambda_text.hpp"
#include "sim/studies/alarm.hpp"
#include "sim/studies/changed_value.hpp"
#include "sim/studies/judging.hpp"

namespace glassbowl::sim {
namespace {

/// How far an unmeasured value may well be off: x -> factor x + add.
struct Change {
  const char* path;
  double factor, add;  ///< `add` in SI
  const char* words;
};

/// Common practice, no published source.
constexpr std::array usual{
    Change{"carburetor.venturi.signal", 1.10, 0.0, "+10 %"},
    Change{"carburetor.venturi.diameter", 1.02, 0.0, "+2 %"},
    Change{"carburetor.main.jet.bore", 1.02, 0.0, "+2 %"},
    Change{"carburetor.main.nozzle_diameter", 1.05, 0.0, "+5 %"},
    Change{"carburetor.main.air_jet.bore", 1.03, 0.0, "+3 %"},
    Change{"carburetor.main.hole_diameter", 1.10, 0.0, "+10 %"},
    Change{"carburetor.needle.jet_diameter", 1.0, 0.02e-3, "+0.02 mm"},
    Change{"carburetor.needle.raised", 1.0, 0.5e-3, "+0.5 mm"},
    Change{"carburetor.piston.spring_preload", 1.10, 0.0, "+10 %"},
    Change{"carburetor.piston.mass", 1.05, 0.0, "+5 %"},
    Change{"carburetor.slow.jet.bore", 1.04, 0.0, "+4 %"},
    Change{"carburetor.slow.air_jet.bore", 1.05, 0.0, "+5 %"},
    Change{"carburetor.screw.turns", 1.10, 0.0, "+10 %"},
    Change{"carburetor.ports.position", 1.0, 0.2e-3, "+0.2 mm"},
    Change{"carburetor.ports.diameter", 1.05, 0.0, "+5 %"},
    Change{"carburetor.throttle.idle_stop", 1.04, 0.0, "+4 %"},
    Change{"float.level", 1.0, 1e-3, "+1 mm"},
    Change{"inlet.filter_area", 1.30, 0.0, "+30 %"},
    Change{"engine.intake.lift", 1.05, 0.0, "+5 %"},
};

constexpr double rpm = m::constants::pi / 30.0;
constexpr double least_shown = 0.005;  // [-] of lambda; smaller ones drown in the tolerance of the points
constexpr std::size_t most_shown = 5;
constexpr double few_misfires = 0.05;  // [-] of the cycles

struct Point {
  double speed, opening;  ///< [rpm], [-]
};
constexpr std::array differences_at{Point{1500, 0.04}, Point{3000, 0.25}, Point{4000, 1.0}};
constexpr std::array scanned_at{Point{3000, 0.05}, Point{3000, 0.08}, Point{3000, 0.10}, Point{3000, 0.12},
                                Point{3000, 0.15}, Point{3000, 0.20}, Point{3000, 0.30}};

template <std::size_t N>
std::vector<Place> places_of(const std::array<Point, N>& points, const Bike<double>& bike) {
  std::vector<Place> places;
  for (const Point& p : points)
    places.push_back({p.speed * rpm, p.opening, bike.air.altitude(0.0), bike.air.warmer});
  return places;
}

std::vector<std::pair<Sensitivity, std::string>> candidates(const ResolvedCase& resolved, Scope scope) {
  std::vector<std::pair<Sensitivity, std::string>> out;
  const auto keys = declared_keys();
  for (const Origin& origin : resolved.origins) {
    if (origin.kind == Origin::Kind::own || !describes_machine(origin, resolved.bike)) continue;
    const auto key =
        std::find_if(keys.begin(), keys.end(), [&](const auto& k) { return k.path == origin.path; });
    if (key->kind != Declaration::Kind::quantity && key->kind != Declaration::Kind::quantities) continue;
    const auto known =
        std::find_if(usual.begin(), usual.end(), [&](const Change& c) { return c.path == origin.path; });
    if (known == usual.end() && scope == Scope::usual) continue;
    const Change change = known != usual.end() ? *known : Change{"", 1.05, 0.0, "+5 %"};
    const auto set =
        changed_setting(origin, *key, [&](double si) { return change.factor * si + change.add; });
    if (!set) continue;
    try {
      read_case_text(resolved.text, resolved.name, {*set});
    } catch (const Error&) {  // it does not go with the rest of the machine; then its size hardly is in doubt
      continue;
    }
    out.push_back({{origin, change.words}, *set});
  }
  return out;
}

std::string place_text(const Place& place) {
  return fmt::format("{:.0f} rpm and {:.0f} % throttle", place.speed / rpm, place.opening * 100.0);
}

}  // namespace

Spread unmeasured_spread(std::string_view path) {
  const auto known =
      std::find_if(usual.begin(), usual.end(), [&](const Change& c) { return c.path == path; });
  if (known == usual.end()) return {};
  // What an unmeasured one may well be off is about one standard deviation.
  return known->add > 0.0 ? Spread{2.0 * known->add, false, "usual, unmeasured"}
                          : Spread{2.0 * (known->factor - 1.0), true, "usual, unmeasured"};
}

Sensitivities find_sensitivities(const ResolvedCase& resolved, PointScheduler& scheduler, Scope scope) {
  Sensitivities out;
  out.places = places_of(differences_at, resolved.bike);
  out.scanned = places_of(scanned_at, resolved.bike);
  // Lanes keep step, which the reference method does not.
  const Sets quick{"run.method=fixed_step"};
  const auto asked = candidates(resolved, scope);
  std::vector<PointTask> tasks;
  const auto add = [&](const Sets& sets, const std::vector<Place>& places) {
    const auto base = std::make_shared<const SharedCase>(resolved.text, joined(quick, sets));
    base->resolved();  // what cannot be read is refused here
    for (const Place& place : places) tasks.push_back(steady_task(base, place));
  };
  add({}, out.scanned);
  add({}, out.places);
  for (const auto& candidate : asked) add({candidate.second}, out.places);
  const auto figures = run_steady(scheduler, tasks);
  auto next = figures.begin();
  const auto take = [&](std::size_t count) {
    std::vector<SteadyFigures> some(next, next + static_cast<std::ptrdiff_t>(count));
    next += static_cast<std::ptrdiff_t>(count);
    return some;
  };
  out.at_scanned = take(out.scanned.size());
  out.as_given = take(out.places.size());
  for (const auto& candidate : asked) {
    Sensitivity s = candidate.first;
    const auto moved = take(out.places.size());
    for (std::size_t i = 0; i < moved.size(); ++i) {
      const double now = moved[i].trapped, before = out.as_given[i].trapped;
      const bool known = now < highest_compared_lambda && before < highest_compared_lambda;
      s.moved.push_back(known ? now - before : SteadyFigures::unknown);
      if (std::abs(s.moved[i]) > std::abs(s.most)) {
        s.most = s.moved[i];
        s.worst = i;
      }
    }
    out.ranked.push_back(std::move(s));
  }
  std::stable_sort(out.ranked.begin(), out.ranked.end(),
                   [](const auto& a, const auto& b) { return std::abs(a.most) > std::abs(b.most); });
  return out;
}

QuickSensitivities find_sensitivities_quickly(const ResolvedCase& resolved, Scope scope,
                                              double most_seconds) {
  QuickSensitivities out;
  Alarm alarm(most_seconds);
  try {
    PointScheduler scheduler(nullptr, 0, &alarm.stop());
    out.found = find_sensitivities(resolved, scheduler, scope);
  } catch (const StudyInterrupted&) {
    out.why_not = fmt::format("it takes longer than {:.0f} s", most_seconds);
  } catch (const Error& failure) {
    out.why_not = failure.what();
  }
  return out;
}

std::string misfires_text(const Sensitivities& found) {
  std::vector<std::size_t> where;
  for (std::size_t i = 0; i < found.scanned.size(); ++i)
    if (found.at_scanned[i].usable() && found.at_scanned[i].misfires > few_misfires) where.push_back(i);
  if (where.empty()) return {};
  const std::size_t worst = *std::max_element(where.begin(), where.end(), [&](std::size_t a, std::size_t b) {
    const auto &x = found.at_scanned[a], &y = found.at_scanned[b];
    return std::pair(x.misfires, x.trapped) < std::pair(y.misfires, y.trapped);
  });
  std::string openings;
  for (const Place& place : found.scanned)
    openings += fmt::format("{}{:.0f}", openings.empty() ? "" : ", ", place.opening * 100.0);
  const auto percent = [&](std::size_t i) { return found.scanned[i].opening * 100.0; };
  const auto& f = found.at_scanned[worst];
  return fmt::format(
      "the engine will misfire {} at {:.0f} rpm: {:.0f} % of the cycles at {:.0f} % throttle, where {} "
      "(computed at "
      "{} %)",
      where.size() == 1 ? fmt::format("at {:.0f} % throttle", percent(worst))
                        : fmt::format("between {:.0f} and {:.0f} % throttle", percent(where.front()),
                                      percent(where.back())),
      found.scanned[worst].speed / rpm, f.misfires * 100.0, percent(worst),
      no_fuel(f.trapped) ? fmt::format("almost no fuel arrives (lambda above {:.0f})", no_fuel_lambda)
                         : fmt::format("in-cylinder lambda is {:.2f}", f.trapped),
      openings);
}

std::string sensitivities_text(const Sensitivities& found) {
  std::string lines;
  for (std::size_t i = 0; i < std::min(most_shown, found.ranked.size()); ++i) {
    const Sensitivity& s = found.ranked[i];
    if (!(std::abs(s.most) >= least_shown)) break;
    lines += fmt::format("{} = {} ({}): {} changes lambda by {:+.3f} at {}\n", s.origin.path, s.origin.value,
                         s.origin.kind == Origin::Kind::fallback    ? "default"
                         : s.origin.kind == Origin::Kind::estimated ? "estimated"
                                                                    : s.origin.source,
                         s.change, s.most, place_text(found.places[s.worst]));
  }
  if (lines.empty()) return {};
  lines.pop_back();
  std::string places;
  for (const Place& place : found.places) places += (places.empty() ? "" : "; ") + place_text(place);
  return fmt::format(
      "Measure these first: of {} borrowed and default values examined ({}) they move in-cylinder "
      "lambda most.\n{}",
      found.ranked.size(), places, lines);
}

}  // namespace glassbowl::sim
