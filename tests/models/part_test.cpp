#include "models/part.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <set>
#include <string>
#include <vector>

#include "models/fuel/accelerator_pump.hpp"
#include "models/fuel/bowl.hpp"
#include "models/fuel/emulsion_channel.hpp"
#include "models/fuel/main_circuit.hpp"
#include "models/gas/restriction.hpp"
#include "models/gas/volume.hpp"
#include "models/mixture/wall_film.hpp"
#include "models/throat/vacuum_piston.hpp"

using namespace glassbowl::models;

namespace {
template <class Slots>
std::vector<Slot> list(const Slots& slots) {
  return {slots.begin(), slots.end()};
}
}  // namespace

TEST_CASE("part: every state has a name, a unit, a meaning, a size and a bound below zero or at it",
          "[models][part]") {
  for (const auto& slots : {list(restriction_slots), list(volume_slots), list(wall_film_slots),
                            list(bowl_slots), list(accelerator_pump_slots), list(emulsion_channel_slots),
                            list(main_circuit_slots), list(vacuum_piston_slots)}) {
    std::set<std::string_view> names;
    for (const Slot& slot : slots) {
      INFO(slot.name);
      CHECK(names.insert(slot.name).second);
      CHECK_FALSE(slot.name.empty());
      CHECK(std::all_of(slot.name.begin(), slot.name.end(),
                        [](char c) { return c == '_' || (c >= 'a' && c <= 'z'); }));
      CHECK_FALSE(slot.unit.empty());
      CHECK_FALSE(slot.long_name.empty());
      CHECK(slot.nominal > 0.0);
      CHECK(slot.lower <= 0.0);
      if (slot.unit == "kg") CHECK(slot.lower == 0.0);
    }
  }
}
