#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <set>

#include "sim/api/error.hpp"
#include "sim/studies/study.hpp"
#include "tests/hardening/random_case.hpp"
#include "tests/hardening/random_map.hpp"

using namespace glassbowl;
using namespace glassbowl::hardening;

TEST_CASE("random bikes: each gives a sound result or says why not", "[hardening]") {
  std::map<Verdict::Kind, int> verdicts;
  for (std::uint64_t seed = 1; seed <= 120; ++seed) {
    const RandomCase drawn = draw_case(seed);
    const Verdict verdict = judge(drawn.text());
    ++verdicts[verdict.kind];
    INFO(drawn.text());
    INFO("seed " << seed << ": " << verdict.words);
    CHECK(verdict.kind != Verdict::Kind::failure);
  }
  CHECK(verdicts[Verdict::Kind::result] > 60);  // most bikes run
}

TEST_CASE("random bikes: every declared key is drawn", "[hardening]") {
  std::set<std::string> left;
  for (const auto& key : sim::declared_keys()) left.insert(key.path);
  // Other ways of saying what is drawn, left out of the draw so that none contradicts the other.
  for (const char* path : {"best_idle", "engine.cylinders", "engine.displacement", "idle_speed"})
    left.erase(path);
  for (std::uint64_t seed = 1; seed <= 60 && !left.empty(); ++seed)
    for (const auto& [path, value] : draw_case(seed).values) left.erase(path);
  CAPTURE(left);
  CHECK(left.empty());
}

TEST_CASE("random bikes: the cases that once failed hold", "[hardening][regression]") {
  int cases = 0;
  for (const auto& entry : std::filesystem::directory_iterator(GLASSBOWL_HARD_CASES)) {
    std::ifstream file(entry.path());
    const Verdict verdict = judge({std::istreambuf_iterator<char>(file), {}});
    INFO(entry.path().filename().string() << ": " << verdict.words);
    CHECK(verdict.kind != Verdict::Kind::failure);
    ++cases;
  }
  CHECK(cases >= 10);
}

TEST_CASE("random bikes: a map of each comes to its end, whatever fails at its points", "[hardening]") {
  int points = 0;
  for (std::uint64_t seed = 1; seed <= 7; ++seed) {
    const MapVerdict verdict = try_map(seed, 4);
    INFO("seed " << seed << ": " << verdict.words);
    CHECK_FALSE(verdict.ended_early);
    points += verdict.points;
  }
  CHECK(points > 0);
}

TEST_CASE("random bikes: a point that fails by longer steps is found by the case's own", "[hardening]") {
  std::ifstream file(std::filesystem::path(GLASSBOWL_HARD_CASES) / "longer_steps_fail.toml");
  const std::string text{std::istreambuf_iterator<char>(file), {}};
  const sim::Place place{sim::from_per_minute(2500.0), 1.0, 0.0, 0.0};
  const sim::PointAccuracy brief{5e-4, 3, 40};
  const sim::ResolvedCase held = sim::read_case_text(text, "held", sim::sets_at(place));
  sim::Simulation simulation(held.bike, held.plan.step);
  CHECK_THROWS_AS(sim::find_steady_cycle(simulation, {brief.tolerance, brief.in_a_row, brief.most_cycles}),
                  sim::Error);
  sim::PointScheduler scheduler(nullptr, 1);
  const auto base = std::make_shared<const sim::SharedCase>(held.text, sim::Sets{});
  const auto found = sim::run_steady(scheduler, {sim::steady_task(base, place, brief)}).front();
  CHECK(found.usable());
  CHECK(found.air > 0.0);
  CHECK(scheduler.failures().empty());
}
