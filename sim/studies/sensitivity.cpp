#include "sim/studies/sensitivity.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <condition_variable>
#include <mutex>
#include <optional>
#include <thread>

#include "sim/api/error.hpp"
#include "sim/bike/provenance.hpp"
#include "sim/cases/key_units.hpp"
#include "sim/cases/layer.hpp"
#include "sim/cases/quantity.hpp"
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
constexpr double few_misfires = 0.05;   // [-] of the cycles
constexpr double almost_no_fuel = 2.0;  // [-] lambda beyond which its size says nothing

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

/// One number of a case changed, as TOML; nothing for what is no number.
std::optional<std::string> changed_number(const toml::node& node, const std::string& unit,
                                          const Change& change) {
  double si = 0.0;
  if (const auto* text = node.as_string()) {
    const auto reading = read_quantity(text->get(), unit);
    if (!reading.wrong.empty()) return std::nullopt;
    si = reading.si;
  } else if (const auto number = node.value<double>()) {
    si = *number;
  } else {
    return std::nullopt;
  }
  const double moved = change.factor * si + change.add;
  if (moved == si) return std::nullopt;
  return unit == units::one ? fmt::format("{:.17g}", moved)
                            : fmt::format("\"{:.17g} {}\"", from_si(moved, unit), unit);
}

/// The override that changes a value, or nothing where it cannot be changed.
std::optional<std::string> set_of(const Origin& origin, const Declaration& key, const Change& change) {
  const toml::table table = parse_value(origin.value);
  const toml::node& node = *table.get("value");
  std::string text;
  if (const auto* list = node.as_array()) {
    for (const auto& entry : *list) {
      const auto number = changed_number(entry, key.unit, change);
      if (!number) return std::nullopt;
      text += (text.empty() ? "" : ", ") + *number;
    }
    if (text.empty()) return std::nullopt;
    text = "[" + text + "]";
  } else if (const auto number = changed_number(node, key.unit, change)) {
    text = *number;
  } else {
    return std::nullopt;
  }
  return origin.path + "=" + text;
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
    const auto set = set_of(origin, *key, change);
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

/// Stops a computation after a while.
class Alarm {
 public:
  explicit Alarm(double seconds)
      : thread_([this, seconds] {
          std::unique_lock lock(mutex_);
          if (!over_.wait_for(lock, std::chrono::duration<double>(seconds), [this] { return done_; }))
            stop_.store(true);
        }) {}
  ~Alarm() {
    {
      const std::lock_guard lock(mutex_);
      done_ = true;
    }
    over_.notify_all();
    thread_.join();
  }
  Alarm(const Alarm&) = delete;
  Alarm& operator=(const Alarm&) = delete;
  const std::atomic<bool>& stop() const { return stop_; }

 private:
  std::atomic<bool> stop_{false};
  std::mutex mutex_;
  std::condition_variable over_;
  bool done_ = false;
  std::thread thread_;
};

}  // namespace

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
      s.moved.push_back(now < almost_no_fuel && before < almost_no_fuel ? now - before
                                                                        : SteadyFigures::unknown);
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
      f.trapped < almost_no_fuel
          ? fmt::format("in-cylinder lambda is {:.2f}", f.trapped)
          : fmt::format("there is almost no fuel (lambda above {:.0f})", almost_no_fuel),
      openings);
}

std::string sensitivities_text(const Sensitivities& found) {
  std::string lines;
  for (std::size_t i = 0; i < std::min(most_shown, found.ranked.size()); ++i) {
    const Sensitivity& s = found.ranked[i];
    if (!(std::abs(s.most) >= least_shown)) break;
    lines += fmt::format("{} = {} ({}): {} changes lambda by {:+.3f} at {}\n", s.origin.path, s.origin.value,
                         s.origin.kind == Origin::Kind::fallback ? "default" : s.origin.source, s.change,
                         s.most, place_text(found.places[s.worst]));
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
