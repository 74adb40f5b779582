#include "models/part.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <set>
#include <string_view>
#include <vector>

#include "models/engine/crank_geometry.hpp"
#include "models/fuel/accelerator_pump.hpp"
#include "models/fuel/bowl.hpp"
#include "models/fuel/emulsion_channel.hpp"
#include "models/fuel/main_circuit.hpp"
#include "models/fuel/tank_feed.hpp"
#include "models/gas/restriction.hpp"
#include "models/gas/volume.hpp"
#include "models/mixture/wall_film.hpp"
#include "models/throat/vacuum_piston.hpp"

using namespace glassbowl::models;

namespace {

template <class State>
std::vector<StateMeaning> meanings() {
  std::vector<StateMeaning> out;
  for (const auto& state : State::states()) out.push_back(state.meaning);
  return out;
}

/// Every listed pointer is to another member.
template <class State>
bool lists_each_member_once() {
  constexpr auto list = State::states();
  for (std::size_t i = 0; i < list.size(); ++i)
    for (std::size_t j = 0; j < i; ++j)
      if (list[i].member == list[j].member) return false;
  return true;
}

}  // namespace

TEST_CASE("part: every state has a name, a unit, a meaning, a size and a bound below zero or at it",
          "[models][part]") {
  for (const auto& states :
       {meanings<PassageState<double>>(), std::vector(volume_states.begin(), volume_states.end()),
        meanings<WallFilmState<double>>(), meanings<BowlState<double>>(), meanings<TankState<double>>(),
        meanings<PumpState<double>>(), meanings<EmulsionChannelState<double>>(),
        meanings<MainCircuitState<double>>(), meanings<VacuumPistonState<double>>(),
        meanings<CrankState<double>>()}) {
    std::set<std::string_view> names;
    for (const StateMeaning& state : states) {
      INFO(state.name);
      CHECK(names.insert(state.name).second);
      CHECK_FALSE(state.name.empty());
      CHECK(std::all_of(state.name.begin(), state.name.end(),
                        [](char c) { return c == '_' || (c >= 'a' && c <= 'z'); }));
      CHECK_FALSE(state.unit.empty());
      CHECK_FALSE(state.long_name.empty());
      CHECK(state.nominal > 0.0);
      CHECK(state.lower <= 0.0);
      if (state.holds != Holds::nothing) CHECK(state.unit == "kg");
    }
  }
}

TEST_CASE("part: every state has a member of its own", "[models][part]") {
  CHECK(lists_each_member_once<MainCircuitState<double>>());
  CHECK(lists_each_member_once<EmulsionChannelState<double>>());
  CHECK(lists_each_member_once<VacuumPistonState<double>>());
  CHECK(lists_each_member_once<CrankState<double>>());
}
