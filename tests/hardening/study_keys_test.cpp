#include <fmt/format.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <map>
#include <set>

#include "models/constants.hpp"
#include "sim/api/error.hpp"
#include "sim/run/run_case.hpp"
#include "sim/studies/steady_map.hpp"
#include "tests/hardening/random_case.hpp"

// A study changes the keys that it declares: speed, throttle, altitude, difference of the air from the
// standard day, adjusters. Every other key counts as in a run, or is refused.
//
// GLASSBOWL_STUDY_KEYS=all tries every declared key (minutes), GLASSBOWL_STUDY_KEYS=40 that many at random.
namespace glassbowl::hardening {
namespace {

using sim::Sets;

constexpr double agreed = 3e-3;  // [-] of lambda, air flow and torque
constexpr double cycles = 30.0;  // of a run that count: whole ones, or torque would depend on where it ends

enum class Outcome { agrees, differs, refused, oscillates, fails };

/// A study's point beside a long run; `worst` is the largest relative difference.
struct Comparison {
  Outcome outcome = Outcome::differs;
  std::string words;
  double worst = 0.0;
};

struct Means {
  double lambda, air, torque, indicated;
};

Means long_run(const sim::ResolvedCase& resolved, double speed, double opening, double settle) {
  const Sets ride{
      "load.kind=held_speed",
      fmt::format("load.speed={:.17g} rad/s", speed),
      fmt::format("rider.throttle={:.17g} %", opening * 100),
      fmt::format("run.settle={} s", settle),
      fmt::format("run.duration={:.17g} s", cycles * 4.0 * models::constants::pi / speed),
      "run.trace_interval=20 ms",
      "supply.tank_area=2000 cm2"};  // a study holds the tank at its filling; here it hardly falls
  const sim::Summary s = sim::run_case(sim::read_case_text(resolved.text, "run", ride), {});
  return {s.air_flow / s.fuel_flow / resolved.bike.fuel.stoichiometric_ratio, s.air_flow, s.torque,
          s.indicated};
}

/// A point of a map beside a run of the same case at held speed. Where a run of 6 s has not come to its end,
/// one of 30 s decides.
Comparison compare(const sim::ResolvedCase& resolved, double rpm, double opening) {
  Comparison out;
  const double speed = sim::from_per_minute(rpm);
  sim::StudyRequest request;
  request.speeds = {speed};
  request.openings = {opening};
  sim::SteadyFigures point;
  try {
    const auto grid = sim::grid_of(resolved, request);
    sim::PointScheduler scheduler(nullptr, 1);
    point = sim::run_steady(scheduler, sim::map_tasks(resolved.text, {}, grid.places(), {})).front();
  } catch (const sim::Error& refusal) {
    return {refusal.kind() == sim::ErrorKind::solver ? Outcome::fails : Outcome::refused, refusal.what(),
            0.0};
  }
  if (!point.usable()) return {Outcome::fails, "the point cannot be computed", 0.0};
  if (!point.converged()) return {Outcome::oscillates, "the point does not converge", 0.0};
  for (const double settle : {6.0, 30.0, 240.0}) {
    Means run{};
    try {
      run = long_run(resolved, speed, opening, settle);
    } catch (const sim::Error& failure) {
      return {Outcome::fails, failure.what(), 0.0};
    }
    const double lambda = point.lambda / run.lambda - 1.0, air = point.air / run.air - 1.0,
                 torque =
                     (point.torque - run.torque) / std::max(std::abs(run.torque), std::abs(run.indicated));
    out.worst = std::max({std::abs(lambda), std::abs(air), std::abs(torque)});
    out.words =
        fmt::format("point less run: lambda {:+.3f} % ({:.4f}, {:.4f}), air {:+.3f} %, torque {:+.3f} %",
                    lambda * 100, point.lambda, run.lambda, air * 100, torque * 100);
    out.outcome = out.worst <= agreed ? Outcome::agrees : Outcome::differs;
    if (out.outcome == Outcome::agrees) break;
  }
  return out;
}

sim::ResolvedCase read(const RandomCase& drawn) {
  return sim::read_case_text(drawn.text(), "random");
}

RandomCase on_bike(const std::string& bike) {
  return {bike,
          {{"load.kind", "\"held_speed\""},
           {"load.speed", "\"3000 1/min\""},
           {"rider.throttle", "\"40 %\""},
           {"run.duration", "\"1 s\""}}};
}

/// Steps for which a long run takes minutes are left to others.
void limit_effort(RandomCase& drawn) {
  const auto step = drawn.values.find("run.step");
  if (step != drawn.values.end()) step->second = "\"30 us\"";
}

/// Keys of the ride and of the computation are changed one at a time.
bool sets_the_ride(const std::string& path) {
  return path.starts_with("rider.") || path.starts_with("air.") || path.starts_with("run.");
}

/// Keys that a study refuses where they change over time.
const std::set<std::string> refusable{"rider.choke", "rider.tap", "air.altitude"};

}  // namespace

TEST_CASE("studies: air, choke, tap, starter, enrichment and load of the case count as in a run",
          "[hardening][studies]") {
  struct Change {
    const char *bike, *key, *value;
  };
  const std::vector<Change> changes{{"mule_750", "air.temperature", "\"-10 degC\""},
                                    {"mule_750", "air.temperature", "\"35 degC\""},
                                    {"goat_400", "air.altitude", "\"2000 m\""},
                                    {"goat_400", "air.humidity", "\"100 %\""},
                                    {"mule_750", "rider.choke", "\"50 %\""},
                                    {"courier_650", "rider.choke", "\"60 %\""},
                                    {"goat_400", "rider.tap", "\"3.7 %\""},
                                    {"goat_400", "rider.starter", "\"100 %\""},
                                    {"courier_650", "carburetor.enrichment.fitted", "false"},
                                    {"goat_400", "load.kind", "\"in_gear\""}};
  for (const auto& change : changes) {
    RandomCase drawn = on_bike(change.bike);
    drawn.values[change.key] = change.value;
    const Comparison c = compare(read(drawn), 3500.0, 0.4);
    INFO(change.bike << ", " << change.key << " = " << change.value << ": " << c.words);
    fmt::print("{}, {} = {}: {}\n", change.bike, change.key, change.value, c.words);
    CHECK(c.outcome == Outcome::agrees);
  }
}

TEST_CASE("studies: what changes over time and is not the study's own is refused", "[hardening][studies]") {
  for (const auto& [key, value] : {std::pair{"rider.choke", "[[\"0 s\", \"50 %\"], [\"1 s\", \"0 %\"]]"},
                                   std::pair{"rider.tap", "[[\"0 s\", \"50 %\"], [\"1 s\", \"100 %\"]]"},
                                   std::pair{"air.altitude", "[[\"0 s\", \"0 m\"], [\"1 s\", \"100 m\"]]"}}) {
    RandomCase drawn = on_bike("goat_400");
    drawn.values[key] = value;
    const Comparison c = compare(read(drawn), 3500.0, 0.4);
    CHECK(c.outcome == Outcome::refused);
    CHECK_THAT(c.words,
               Catch::Contains(key) && Catch::Contains("changes over time") && Catch::Contains("--"));
  }
}

TEST_CASE("studies: a random change of any key gives what a long run gives, or is refused",
          "[hardening][studies]") {
  static constexpr std::array bikes{"mule_750", "courier_650", "goat_400", "courier_650_butterfly"};
  const char* asked = std::getenv("GLASSBOWL_STUDY_KEYS");
  const bool all = asked != nullptr && std::string(asked) == "all";
  const auto keys = sim::declared_keys();
  const std::size_t count = all ? keys.size() : asked != nullptr ? std::strtoul(asked, nullptr, 10) : 30;
  std::map<Outcome, int> outcomes;
  double worst = 0.0;
  for (std::size_t i = 0; i < count; ++i) {
    // Spread over all keys where not all are tried.
    const auto& key = keys[(all ? i : i * 61 + 7) % keys.size()];
    RandomCase drawn = on_bike(bikes[i % bikes.size()]);
    // Every other bike differs from the shipped one in three further keys.
    for (std::size_t k = 0; i % 2 == 1 && k < 3; ++k)
      if (const auto& other = keys[(i * 37 + k * 101 + 11) % keys.size()]; !sets_the_ride(other.path))
        draw_change(drawn, other.path, 7000 + 10 * i + k);
    if (!draw_change(drawn, key.path, 1000 + i)) {
      FAIL_CHECK("no legal value was found for " << key.path);
      continue;
    }
    limit_effort(drawn);
    const Comparison c =
        compare(read(drawn), 2500.0 + 500.0 * static_cast<double>(i % 5), i % 2 == 0 ? 0.3 : 0.6);
    ++outcomes[c.outcome];
    if (c.outcome == Outcome::agrees) worst = std::max(worst, c.worst);
    if (asked != nullptr) {
      fmt::print("{} {} = {}: {}\n", drawn.bike, key.path, drawn.values[key.path], c.words);
      std::fflush(stdout);
    }
    INFO(drawn.text() << c.words);
    if (i % 2 == 0) CHECK(c.outcome != Outcome::differs);
    if (c.outcome == Outcome::refused) CHECK(refusable.contains(key.path));
  }
  fmt::print(
      "{} keys: {} agree (worst {:.3f} %), {} differ, {} refused, {} do not converge, {} cannot be "
      "computed\n",
      count, outcomes[Outcome::agrees], worst * 100, outcomes[Outcome::differs], outcomes[Outcome::refused],
      outcomes[Outcome::oscillates], outcomes[Outcome::fails]);
  // Four extremes at once (a slow jet of 0.8 cm3/min, a venturi of 6 mm) can leave the search, which judges
  // what is left by what still changes, some per cent short: few of such bikes, and none with a single
  // change.
  CHECK(outcomes[Outcome::differs] * 30 <= static_cast<int>(count));
  CHECK(outcomes[Outcome::agrees] * 2 > static_cast<int>(count));
}

}  // namespace glassbowl::hardening
