#include "sim/cases/nearest_key.hpp"

#include <catch2/catch.hpp>

using namespace glassbowl::sim;

TEST_CASE("nearest key: distance counts edits and swaps", "[sim][cases][exact]") {
  CHECK(edit_distance("", "") == 0);
  CHECK(edit_distance("", "bore") == 4);
  CHECK(edit_distance("bore", "bore") == 0);
  CHECK(edit_distance("bore", "boer") == 1);
  CHECK(edit_distance("bore", "bor") == 1);
  CHECK(edit_distance("bore", "bare") == 1);
  CHECK(edit_distance("kitten", "sitting") == 3);
  CHECK(edit_distance("sitting", "kitten") == 3);
  CHECK(edit_distance("sitting", "kitten", 3) == 3);
  CHECK(edit_distance("sitting", "kitten", 2) > 2);
  // A bound only saves time.
  const std::vector<std::string> words{"",    "a",    "ab",   "ba",   "abc", "cab",
                                       "bca", "acbd", "bore", "boer", "obre"};
  for (const auto& a : words)
    for (const auto& b : words)
      for (std::size_t most = 0; most < 5; ++most) {
        INFO(a << " " << b << " " << most);
        const std::size_t all = edit_distance(a, b), found = edit_distance(a, b, most);
        CHECK((all <= most ? found == all : found > most));
      }
}

TEST_CASE("nearest key: finds slips of the pen and misplaced keys, nothing else", "[sim][cases]") {
  const std::vector<std::string> known{"jet.bore", "jet.length", "well.depth", "name"};
  CHECK(nearest_key("jet.boer", known) == "jet.bore");
  CHECK(nearest_key("jet.lenght", known) == "jet.length");
  CHECK(nearest_key("jet.depth", known) == "well.depth");
  CHECK(nearest_key("nmae", known) == "name");
  CHECK(nearest_key("jet.colour", known) == "");
  CHECK(nearest_key(std::string(1000, 'x'), known) == "");
}
