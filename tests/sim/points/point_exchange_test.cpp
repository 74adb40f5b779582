#include "sim/points/point_exchange.hpp"

#include <catch2/catch.hpp>
#include <stdexcept>
#include <thread>

#include "sim/bike/resolved_case.hpp"
#include "sim/cases/find_case.hpp"
#include "sim/points/point_scheduler.hpp"

namespace glassbowl::sim {
namespace {

std::unique_ptr<PointUnderWay> point(std::size_t task) {
  return std::make_unique<PointUnderWay>(PointUnderWay{task, {}, std::nullopt});
}

std::vector<std::unique_ptr<PointUnderWay>> two_points() {
  std::vector<std::unique_ptr<PointUnderWay>> out;
  out.push_back(point(7));
  out.push_back(point(8));
  return out;
}

/// A bike left to itself for so many short legs; its state is the result. It may throw in the end.
March ride(ResolvedCase resolved, int legs, bool fail, PointResult& result) {
  Simulation simulation(resolved.bike, resolved.plan.step);
  for (int i = 1; i <= legs; ++i) co_yield Leg{&simulation, 2e-3 * i, nullptr};
  if (fail) throw std::runtime_error("the last one failed");
  result = simulation.state();
}

std::vector<PointTask> rides(const ResolvedCase& resolved, const std::vector<int>& legs, int failing = -1) {
  std::vector<PointTask> out;
  for (std::size_t i = 0; i < legs.size(); ++i) {
    PointTask task;
    task.key = "ride " + std::to_string(i);
    task.march = [&resolved, n = legs[i], fail = static_cast<int>(i) == failing](PointResult& result) {
      return ride(resolved, n, fail, result);
    };
    out.push_back(std::move(task));
  }
  return out;
}

bool any(const PointUnderWay&) {
  return true;
}

}  // namespace

TEST_CASE("point queue: tasks are handed out once each, in order", "[sim][studies]") {
  PointExchange queue({4, 2, 9}, 2);
  CHECK(queue.next() == 4);
  CHECK(queue.next() == 2);
  CHECK(queue.next() == 9);
  CHECK_FALSE(queue.next());
  CHECK_FALSE(queue.next());
}

TEST_CASE("point queue: who waits is given points, and goes home when nobody has any", "[sim][studies]") {
  PointExchange queue({}, 2);
  CHECK_FALSE(queue.wanted());
  std::vector<std::size_t> taken;
  std::thread idle([&] {
    while (queue.wait())
      while (const auto got = queue.steal(any)) taken.push_back(got->task);
  });
  while (!queue.wanted()) std::this_thread::yield();
  queue.donate(two_points());
  while (!queue.wanted()) std::this_thread::yield();  // both taken, and it waits again
  CHECK_FALSE(queue.wait());                          // this was the last one at work
  idle.join();
  CHECK(taken == std::vector<std::size_t>{7, 8});
  CHECK(queue.steal(any) == nullptr);
}

TEST_CASE("point queue: who takes over gets the first that fits", "[sim][studies]") {
  PointExchange queue({}, 1);
  queue.donate(two_points());
  CHECK(queue.steal([](const PointUnderWay& p) { return p.task > 8; }) == nullptr);
  CHECK(queue.steal([](const PointUnderWay& p) { return p.task == 8; })->task == 8);
  CHECK(queue.steal(any)->task == 7);
}

TEST_CASE("point queue: that tasks have ended is known once several have told", "[sim][studies]") {
  PointExchange queue({}, 3);
  CHECK(queue.note_end() == 0);
  CHECK_FALSE(queue.ends());
  CHECK(queue.note_end() == 1);
  CHECK(queue.ends());
}

TEST_CASE("point queue: all who wait are sent home, with points left over", "[sim][studies]") {
  PointExchange queue({}, 3);
  bool more[2] = {true, true};
  std::thread a([&] { more[0] = queue.wait(); }), b([&] { more[1] = queue.wait(); });
  while (!queue.wanted()) std::this_thread::yield();
  queue.send_home();
  a.join();
  b.join();
  CHECK_FALSE(more[0]);
  CHECK_FALSE(more[1]);
  queue.donate(two_points());
  CHECK_FALSE(queue.wait());
}

TEST_CASE("scheduler: rides handed from worker to worker end as they do alone, to the bit",
          "[sim][studies]") {
  const auto resolved = read_case(find_case("blip"));
  // One thread gets the short ones and has none left while the other has several.
  const std::vector<int> legs{60, 1, 61, 2, 62, 1, 63, 2, 64, 1};
  const auto alone = PointScheduler(nullptr, 1).run(rides(resolved, legs));
  for (std::size_t i = 0; i < legs.size(); ++i) {
    PointResult one;
    ride(resolved, legs[i], false, one).go_alone();
    CHECK(alone[i] == one.values);
  }
  for (const unsigned threads : {2u, 3u, 5u})
    CHECK(PointScheduler(nullptr, threads).run(rides(resolved, legs)) == alone);
}

TEST_CASE("scheduler: what a ride throws in the end reaches the caller, whoever has it", "[sim][studies]") {
  const auto resolved = read_case(find_case("blip"));
  const std::vector<int> legs{30, 1, 31, 1, 32, 1};
  for (const unsigned threads : {1u, 2u, 3u})
    CHECK_THROWS_AS(PointScheduler(nullptr, threads).run(rides(resolved, legs, 4)), std::runtime_error);
}

}  // namespace glassbowl::sim
