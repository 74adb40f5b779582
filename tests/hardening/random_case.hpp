#pragma once
#include <cstdint>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "sim/bike/resolved_case.hpp"

/// Legal cases drawn at random over the whole range of every declared key, and what may come of them.
namespace glassbowl::hardening {

/// A case as its author would write it: a shipped bike and what differs from it.
struct RandomCase {
  std::string bike;
  std::map<std::string, std::string> values;  ///< TOML values by dotted key

  std::string text() const;
};

/// Draws the legal case that belongs to `seed`. About a third of them differ from the bike in a few keys, a
/// third in a fifth of all keys, a third in every key. A draw that contradicts itself (a venturi wider than
/// its bore) is drawn again where it does.
RandomCase draw_case(std::uint64_t seed);

/// Draws another legal value for one key of a case, in `values`; keys that contradict it are drawn again with
/// it. False where no legal value was found.
bool draw_change(RandomCase& drawn, const std::string& path, std::uint64_t seed);

/// What became of a case.
struct Verdict {
  enum class Kind { result, statement, failure };
  Kind kind = Kind::failure;
  std::string words;  ///< the status, the statement why there is no result, or what is wrong
  double fuel = 0.0, air = 0.0, energy = 0.0;  ///< budgets, relative
  double lowest_margin = 0.0;                  ///< of any mass above zero, in nominal sizes
  double wall = 0.0;                           ///< [s]
};

/// Reads and runs a case. A failure is: it is refused or ends in anything but a result or a statement of the
/// solver; a figure that is no number; a budget open by more than 1e-9; a mass below zero.
Verdict judge(const std::string& case_text);

/// The smallest case still failing in the same way, found by taking values away; `before_each_trial` is for a
/// watchdog to begin anew.
RandomCase shrink(const RandomCase& failing, const std::function<void()>& before_each_trial);

}  // namespace glassbowl::hardening
