#include "sim/points/lane_filler.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <set>
#include <string>
#include <vector>

#include "sim/bike/resolved_case.hpp"
#include "sim/cases/find_case.hpp"

namespace glassbowl::sim {
namespace {

constexpr int legs = 5;

/// A ride in some legs, the first ones in single precision. Notes who has ended a leg.
March ride(const ResolvedCase& resolved, std::size_t me, std::vector<std::size_t>& order,
           PointResult& result) {
  StepOptions steps = resolved.plan.step;
  steps.single_rates = true;
  Simulation simulation(resolved.bike, steps);
  for (int leg = 1; leg <= legs; ++leg) {
    if (leg == 3) simulation.use_steps(resolved.plan.step);
    co_yield Leg{&simulation, 2e-3 * leg, nullptr};
    order.push_back(me);
  }
  result = simulation.state();
}

State alone(const ResolvedCase& resolved) {
  std::vector<std::size_t> order;
  PointResult out;
  ride(resolved, 0, order, out).go_alone();
  return out.values;
}

ResolvedCase held() {
  return read_case(find_case("slow_sweep"), {"load.kind=held_speed", "load.speed=3000 rpm", "rider.choke=0 %",
                                             "rider.starter=0 %", "rider.throttle=30 %"});
}

}  // namespace

TEST_CASE("worker: points go on from single to double precision as they do alone, however many they are",
          "[sim][studies]") {
  const auto resolved = held();
  const State expected = alone(resolved);
  std::vector<std::size_t> order;
  std::vector<PointTask> tasks;
  for (std::size_t k = 0; k < 40; ++k)
    tasks.push_back(
        {std::to_string(k), {}, [&, k](PointResult& result) { return ride(resolved, k, order, result); }});
  std::vector<std::size_t> numbers(tasks.size());
  for (std::size_t k = 0; k < numbers.size(); ++k) numbers[k] = k;
  for (const std::size_t most : {1, 3, 11, 40}) {
    INFO("at most " << most << " under way");
    PointExchange queue(numbers, 1);
    std::size_t done = 0;
    LaneFiller worker(tasks, most, queue, [&](std::size_t, const PointResult& result) {
      CHECK(result.values == expected);
      ++done;
    });
    while (worker.advance()) {
    }
    CHECK(done == tasks.size());
  }
}

TEST_CASE("worker: points taken over from another go side by side", "[sim][studies]") {
  const auto resolved = held();
  std::vector<std::size_t> order;
  PointExchange queue({}, 1);
  std::vector<std::unique_ptr<PointUnderWay>> given;
  const auto all = std::min<std::size_t>(6, make_lane_group({}, true)->size());
  for (std::size_t k = 0; k < all; ++k) {
    auto point = std::make_unique<PointUnderWay>(PointUnderWay{k, {}, std::nullopt});
    point->march = ride(resolved, k, order, point->result);
    REQUIRE(point->march->next());
    given.push_back(std::move(point));
  }
  queue.donate(std::move(given));
  const std::vector<PointTask> tasks;
  LaneFiller worker(tasks, all, queue, [](std::size_t, const PointResult&) {});
  while (worker.advance()) {
  }
  REQUIRE(order.size() == all * legs);
  // All have ended their first leg before anybody ends the second.
  CHECK(std::set<std::size_t>(order.begin(), order.begin() + static_cast<long>(all)).size() == all);
}

TEST_CASE("worker: several part in the end, each point goes on as it does alone", "[sim][studies]") {
  const auto resolved = held();
  const State expected = alone(resolved);
  std::vector<std::size_t> order, numbers(50);
  std::vector<PointTask> tasks;
  for (std::size_t k = 0; k < numbers.size(); ++k) {
    numbers[k] = k;
    tasks.push_back(
        {std::to_string(k), {}, [&, k](PointResult& result) { return ride(resolved, k, order, result); }});
  }
  for (const std::size_t crew : {2, 3}) {
    INFO(crew << " workers");
    order.clear();
    PointExchange queue(numbers, crew);
    std::vector<std::size_t> done(numbers.size());
    std::vector<LaneFiller> workers;
    for (std::size_t i = 0; i < crew; ++i)
      workers.emplace_back(tasks, 40, queue, [&](std::size_t task, const PointResult& result) {
        ++done[task];
        CHECK(result.values == expected);
      });
    // In turn, on one thread; a few more rounds than anybody could need, as one may wait for others' points.
    std::vector<std::size_t> ended(numbers.size());  // legs
    std::vector<std::string> precisions(crew);       // of the legs ended by a worker since all have begun
    for (std::size_t round = 0; round < 50 * legs; ++round)
      for (std::size_t i = 0; i < crew; ++i) {
        const bool parted = queue.ends();
        const std::size_t before = order.size();
        workers[i].advance();
        for (std::size_t k = before; k < order.size(); ++k)
          if (const bool single = ++ended[order[k]] <= 2; parted) precisions[i] += single ? 's' : 'd';
      }
    CHECK(std::count(done.begin(), done.end(), 1) == 50);
    CHECK(order.size() == 50 * legs);
    // Nobody ends one in double precision while it has some in single precision.
    std::size_t in_single = 0;
    for (const auto& legs_ended : precisions) {
      CHECK(std::is_sorted(legs_ended.rbegin(), legs_ended.rend()));
      in_single += static_cast<std::size_t>(std::count(legs_ended.begin(), legs_ended.end(), 's'));
    }
    CHECK(in_single > 0);
  }
}

}  // namespace glassbowl::sim
