#include <atomic>
#include <catch2/catch.hpp>
#include <cstdlib>
#include <new>

#include "sim/bike/resolved_case.hpp"
#include "sim/cases/find_case.hpp"
#include "sim/solver/simulation.hpp"

using namespace glassbowl::sim;

namespace {

std::atomic<long> allocations{0};

}  // namespace

// Of the whole test program: counts, and is otherwise what the library does.
void* operator new(std::size_t size) {
  ++allocations;
  if (void* room = std::malloc(size != 0 ? size : 1)) return room;
  throw std::bad_alloc();
}
void operator delete(void* room) noexcept {
  std::free(room);
}
void operator delete(void* room, std::size_t) noexcept {
  std::free(room);
}

TEST_CASE("events: a run allocates nothing once it has begun", "[sim][solver][events]") {
  const std::string kind = GENERATE("warm_idle", "warm_idle_piston");
  const auto resolved = read_case(find_case(kind), {"load.kind=held_speed", "load.speed=4000 rpm",
                                                    "rider.throttle=30 %", "rider.choke=0 %"});
  Simulation simulation(resolved.bike, resolved.plan.step);
  long cycles = 0, charges = 0;
  const CycleListener listener = [&](const Cycle& cycle) {
    ++cycles;
    for (const auto& charge : cycle.cylinders) charges += charge.mass > 0.0;
  };
  simulation.advance(0.2, listener);  // every kind of event has happened
  REQUIRE(cycles > 3);
  const long before = allocations, cycles_before = cycles;
  simulation.advance(0.5, listener);
  CHECK(allocations == before);
  CHECK(cycles > cycles_before + 5);
  CHECK(charges > 0);
}
