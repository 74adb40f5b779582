#include "sim/solver/march.hpp"

#include <catch2/catch.hpp>
#include <stdexcept>
#include <string>
#include <vector>

namespace glassbowl::sim {
namespace {

/// Legs that only have a number, as their limits; nobody advances anything.
March count(double first, int legs, std::vector<std::string>& said, bool catches) {
  for (int i = 0; i < legs; ++i) {
    try {
      co_yield Leg{nullptr, first + i, nullptr};
    } catch (const std::runtime_error& failure) {
      said.push_back(std::string("inner: ") + failure.what());
      if (!catches) throw;
    }
  }
}

March outer(std::vector<std::string>& said, bool inner_catches) {
  co_yield Leg{nullptr, 0.0, nullptr};
  try {
    March first = count(10.0, 3, said, inner_catches);
    co_yield first;
  } catch (const std::runtime_error& failure) {
    said.push_back(std::string("outer: ") + failure.what());
  }
  March none = count(20.0, 0, said, true);
  co_yield none;
  March last = count(30.0, 2, said, true);
  co_yield last;
  said.push_back("end");
}

std::exception_ptr trouble() {
  return std::make_exception_ptr(std::runtime_error("trouble"));
}

/// The legs of a march, of which number `failing` goes wrong.
std::vector<double> legs_of(March march, int failing) {
  std::vector<double> legs;
  for (bool more = march.next(); more; more = march.next(std::ssize(legs) == failing ? trouble() : nullptr))
    legs.push_back(march.leg().limit);
  return legs;
}

}  // namespace

TEST_CASE("march: the legs of marches within come in their turn, one without legs is passed over",
          "[sim][solver][exact]") {
  std::vector<std::string> said;
  CHECK(legs_of(outer(said, true), 0) == std::vector<double>{0.0, 10.0, 11.0, 12.0, 30.0, 31.0});
  CHECK(said == std::vector<std::string>{"end"});
}

TEST_CASE(
    "march: what goes wrong on a leg reaches the march within that asked for it, then the one around it",
    "[sim][solver][exact]") {
  std::vector<std::string> said;
  CHECK(legs_of(outer(said, true), 3) == std::vector<double>{0.0, 10.0, 11.0, 12.0, 30.0, 31.0});
  CHECK(said == std::vector<std::string>{"inner: trouble", "end"});
  said.clear();
  CHECK(legs_of(outer(said, false), 3) == std::vector<double>{0.0, 10.0, 11.0, 30.0, 31.0});
  CHECK(said == std::vector<std::string>{"inner: trouble", "outer: trouble", "end"});
  said.clear();
  CHECK_THROWS_WITH(legs_of(outer(said, true), 1), "trouble");  // nobody has asked for more care
}

}  // namespace glassbowl::sim
