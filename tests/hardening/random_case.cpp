#include "tests/hardening/random_case.hpp"

#include <fmt/format.h>
#include <rapidcheck.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <regex>

#include "sim/api/error.hpp"
#include "sim/bike/other_measures.hpp"
#include "sim/cases/key_units.hpp"
#include "sim/run/run_case.hpp"

namespace glassbowl::hardening {
namespace {

using sim::Declaration;
using Kind = Declaration::Kind;

constexpr double closed = 1e-9;         // [-] budgets
constexpr double least_mass = 1e-4;     // [-] nominal sizes below zero that are round-off
constexpr double duration_most = 0.06;  // [s] of a run

const std::vector<Declaration>& keys() {
  static const std::vector<Declaration> all = sim::declared_keys();
  return all;
}

/// Random numbers of rapidcheck, drawn one at a time.
class Dice {
 public:
  explicit Dice(std::uint64_t seed) : random_(seed) {}
  /// 0 <= share < 1
  double share() { return static_cast<double>(random_.next() >> 11) * 0x1p-53; }
  std::size_t below(std::size_t count) {
    return std::min(count - 1, static_cast<std::size_t>(share() * static_cast<double>(count)));
  }

 private:
  rc::Random random_;
};

/// Ends of the range often, else spread evenly over it or over its orders of magnitude.
double draw_number(Dice& dice, sim::Range range) {
  const double way = dice.share();
  if (way < 0.08) return range.lowest;
  if (way < 0.16) return range.highest;
  double value = range.lowest + dice.share() * (range.highest - range.lowest);
  if (way > 0.6 && range.lowest >= 0.0 && range.highest > 0.0) {
    const double least = std::max(range.lowest, 1e-4 * range.highest);
    value = least * std::pow(range.highest / least, dice.share());
  }
  return std::clamp(std::stod(fmt::format("{:.5g}", value)), range.lowest, range.highest);
}

std::string spelled(double value, const std::string& unit) {
  const std::string number = fmt::format("{:.9g}", value);
  if (unit != sim::units::one) return fmt::format("\"{} {}\"", number, unit);
  return number.find_first_of(".e") == std::string::npos ? number + ".0" : number;
}

std::string draw_number_text(Dice& dice, const Declaration& key) {
  return spelled(draw_number(dice, key.range), key.unit);
}

/// Points over time lie within the run, others within their range.
std::string draw_points(Dice& dice, const Declaration& key) {
  const std::size_t count = 1 + dice.below(4);
  if (count == 1 && dice.share() < 0.7) return draw_number_text(dice, key);
  const sim::Range x = key.unit_x == "s" ? sim::Range{-0.01, duration_most} : key.range_x;
  std::vector<double> places;
  for (std::size_t i = 0; i < count; ++i) places.push_back(draw_number(dice, x));
  std::sort(places.begin(), places.end());
  places.erase(std::unique(places.begin(), places.end()), places.end());
  std::string text;
  for (const double place : places)
    text += fmt::format("{}[{}, {}]", text.empty() ? "" : ", ", spelled(place, key.unit_x),
                        draw_number_text(dice, key));
  return "[" + text + "]";
}

/// Lists of one section have one length, as they describe the same things.
std::string draw_list(Dice& dice, const Declaration& key, std::uint64_t seed) {
  const std::string section = key.path.substr(0, key.path.rfind('.'));
  Dice length(seed ^ std::hash<std::string>()(section));
  const std::size_t most = std::min<std::size_t>(key.max_count, 12);
  const std::size_t count = length.share() < 0.2 ? most : length.below(std::min<std::size_t>(most, 5)) + 1;
  std::string text;
  for (std::size_t i = 0; i < count; ++i) text += (i ? ", " : "") + draw_number_text(dice, key);
  return "[" + text + "]";
}

std::string draw_value(Dice& dice, const Declaration& key, std::uint64_t seed) {
  switch (key.kind) {
    case Kind::quantity:
      return draw_number_text(dice, key);
    case Kind::quantities:
      return draw_list(dice, key, seed);
    case Kind::points:
      return draw_points(dice, key);
    case Kind::integer:
      return fmt::format("{:.0f}", std::round(draw_number(dice, key.range)));
    case Kind::flag:
      return dice.share() < 0.5 ? "true" : "false";
    case Kind::choice:
      return fmt::format("\"{}\"", key.names[dice.below(key.names.size())]);
    case Kind::text:
      return "\"drawn at random\"";
  }
  return {};
}

/// Keys that a message of the case reader complains of.
std::vector<std::string> keys_named(const std::string& message) {
  static const std::regex titled(R"(: \[([a-z_.]+)\] ([a-z_]+)( =|:))");
  std::vector<std::string> found;
  for (std::sregex_iterator i(message.begin(), message.end(), titled), end; i != end; ++i)
    found.push_back((*i)[1].str() + "." + (*i)[2].str());
  return found;
}

const Declaration& declared(const std::string& path) {
  return *std::find_if(keys().begin(), keys().end(), [&](const auto& key) { return key.path == path; });
}

/// Bounds the length of a run, not what it computes.
void set_duration(Dice& dice, RandomCase& drawn) {
  double step = 50e-6;
  if (const auto given = drawn.values.find("run.step"); given != drawn.values.end())
    step = std::stod(given->second.substr(1)) * 1e-6;
  const double duration = std::min(duration_most, 1500.0 * step);
  drawn.values["run.duration"] = spelled(duration, "s");
  drawn.values["run.settle"] = spelled(dice.share() < 0.5 ? 0.0 : 0.2 * duration, "s");
}

/// Two keys that say the same thing would rarely agree: one of them goes, by chance.
void keep_one_of_each_pair(Dice& dice, RandomCase& drawn) {
  const auto drop_one = [&](const std::string& a, const std::string& b) {
    if (drawn.values.contains(a) && drawn.values.contains(b)) drawn.values.erase(dice.share() < 0.5 ? a : b);
  };
  for (const Declaration& key : keys())
    if (key.path.ends_with(".flow_rating"))
      drop_one(key.path, key.path.substr(0, key.path.rfind('.')) + ".bore");
  drop_one("float.height", "float.level");
  for (const sim::OtherMeasure& other : sim::other_measures()) drop_one(other.path, other.means);
  // An idle speed beside a stop, or a displacement beside bore and stroke, is refused by design.
  for (const char* path : {"idle_speed", "best_idle", "engine.displacement", "engine.cylinders"})
    drawn.values.erase(path);
  if (drawn.values.contains("float.height"))
    drawn.values.try_emplace("float.height_at_datum",
                             draw_number_text(dice, declared("float.height_at_datum")));
}

}  // namespace

std::string RandomCase::text() const {
  std::string text = fmt::format("base = \"bikes/{}.toml\"\n", bike);
  for (const auto& [path, value] : values) text += fmt::format("{} = {}\n", path, value);
  return text;
}

RandomCase draw_case(std::uint64_t seed) {
  static constexpr std::array bikes{"mule_750", "courier_650", "goat_400", "courier_650_butterfly"};
  static constexpr std::array shares{0.03, 0.2, 1.0};
  Dice dice(seed);
  RandomCase drawn;
  drawn.bike = bikes[dice.below(bikes.size())];
  const double share = shares[dice.below(shares.size())];
  drawn.values = {
      {"load.kind", "\"held_speed\""}, {"load.speed", "\"3000 1/min\""}, {"rider.throttle", "\"30 %\""}};
  for (const Declaration& key : keys())
    if (dice.share() < share) drawn.values[key.path] = draw_value(dice, key, seed);
  set_duration(dice, drawn);
  keep_one_of_each_pair(dice, drawn);
  for (int attempt = 0; attempt < 200; ++attempt) {
    try {
      sim::read_case_text(drawn.text(), "random");
      return drawn;
    } catch (const sim::Error& refusal) {
      const auto named = keys_named(refusal.what());
      if (named.empty()) throw;
      for (const std::string& path : named) {
        drawn.values[path] = draw_value(dice, declared(path), seed);
        if (attempt < 40) continue;
        // No luck: what the whole section says goes back to the bike.
        const std::string section = path.substr(0, path.rfind('.') + 1);
        std::erase_if(drawn.values, [&](const auto& value) { return value.first.starts_with(section); });
        if (attempt > 100) drawn.values.clear();
      }
      drawn.values.try_emplace("load.kind", "\"held_speed\"");
      drawn.values.try_emplace("load.speed", "\"3000 1/min\"");
      set_duration(dice, drawn);
      keep_one_of_each_pair(dice, drawn);
    }
  }
  throw std::logic_error(fmt::format("seed {}: no legal case found:\n{}", seed, drawn.text()));
}

bool draw_change(RandomCase& drawn, const std::string& path, std::uint64_t seed) {
  Dice dice(seed);
  const std::string section = path.substr(0, path.rfind('.') + 1);
  for (std::uint64_t attempt = 0; attempt < 60; ++attempt) {
    RandomCase trial = drawn;
    trial.values[path] = draw_value(dice, declared(path), seed + attempt);
    if (attempt >= 20 && declared(path).kind == Kind::quantities)  // lists of one section have one length
      for (const auto& key : keys())
        if (key.kind == Kind::quantities && key.path.starts_with(section))
          trial.values[key.path] = draw_value(dice, key, seed + attempt);
    for (int again = 0; again < 8; ++again) try {
        sim::read_case_text(trial.text(), "random");
        drawn = std::move(trial);
        return true;
      } catch (const sim::Error& refusal) {
        for (const std::string& named : keys_named(refusal.what()))
          if (named != path) trial.values[named] = draw_value(dice, declared(named), seed + attempt);
      }
  }
  return false;
}

Verdict judge(const std::string& case_text) {
  Verdict verdict;
  const auto begin = std::chrono::steady_clock::now();
  const auto fail = [&](const std::string& words) {
    verdict.kind = Verdict::Kind::failure;
    verdict.words = words;
  };
  try {
    const auto resolved = sim::read_case_text(case_text, "random");
    const sim::Summary summary = sim::run_case(resolved, {});
    verdict.kind = Verdict::Kind::result;
    verdict.words = summary.status;
    verdict.fuel = summary.budget.fuel;
    verdict.air = summary.budget.air;
    verdict.energy = summary.budget.energy;
    verdict.lowest_margin = summary.budget.lowest_margin;
    const double figures[] = {summary.budget.fuel, summary.budget.air,        summary.budget.energy,
                              summary.speed,       summary.manifold_pressure, summary.torque,
                              summary.fuel_flow,   summary.air_flow,          summary.bowl_level.lowest};
    if (summary.cycles > 0 &&
        !std::all_of(std::begin(figures), std::end(figures), [](double x) { return std::isfinite(x); }))
      fail("a figure of the summary is no number");
    else if (verdict.fuel > closed)
      fail(fmt::format("the fuel budget is open by {:.3g}", verdict.fuel));
    else if (verdict.air > closed)
      fail(fmt::format("the air budget is open by {:.3g}", verdict.air));
    else if (verdict.energy > closed)
      fail(fmt::format("the energy budget of {} is open by {:.3g}", summary.budget.energy_volume,
                       verdict.energy));
    else if (verdict.lowest_margin < -least_mass && summary.budget.lowest_margin_name != "piston_lift")
      fail(fmt::format("{} is {:.3g} below its bound", summary.budget.lowest_margin_name,
                       verdict.lowest_margin));
  } catch (const sim::Error& error) {
    if (error.kind() == sim::ErrorKind::solver) {
      verdict.kind = Verdict::Kind::statement;
      verdict.words = error.what();
    } else {
      fail(fmt::format("refused: {}", error.what()));
    }
  } catch (const std::exception& error) {
    fail(fmt::format("not an error of the program's own: {}", error.what()));
  }
  verdict.wall = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
  return verdict;
}

RandomCase shrink(const RandomCase& failing, const std::function<void()>& before_each_trial) {
  // Two failures are alike if their words are, numbers left out.
  const auto kind_of = [&](const RandomCase& candidate) {
    before_each_trial();
    const Verdict verdict = judge(candidate.text());
    if (verdict.kind != Verdict::Kind::failure || verdict.words.starts_with("refused")) return std::string();
    static const std::regex numbers("-?[0-9][0-9.e+-]*");
    return std::regex_replace(verdict.words, numbers, "#");
  };
  const std::string kind = kind_of(failing);
  if (kind.empty()) return failing;
  using Value = std::pair<std::string, std::string>;
  RandomCase smallest = failing;
  for (bool smaller = true; smaller;) {
    smaller = false;
    const std::vector<Value> values(smallest.values.begin(), smallest.values.end());
    auto candidates = rc::shrink::removeChunks(values);
    while (const auto candidate = candidates.next()) {
      RandomCase trial{smallest.bike, {candidate->begin(), candidate->end()}};
      if (kind_of(trial) != kind) continue;
      smallest = std::move(trial);
      smaller = true;
      break;
    }
  }
  return smallest;
}

}  // namespace glassbowl::hardening
