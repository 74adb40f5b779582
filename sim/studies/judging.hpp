#pragma once

#include <cmath>
#include <map>
#include <string>

#include "sim/run/lean_limit.hpp"
#include "sim/studies/steady_map.hpp"

/// What counts as a good, a dangerous and a fouling mixture. All limits here are common practice, no
/// published source; they are the program's choice and said wherever they are used.
namespace glassbowl::sim {

/// [-] lambda difference below which two settings cannot be told apart: what the model knows of a mixture.
inline constexpr double model_accuracy = 0.015;
inline constexpr double fouling_limit = 0.72;  ///< [-] richer for long soots plugs and washes the bore
inline constexpr double most_swing = 0.25;     ///< [-] see `lugging`

/// Whether the engine pulls here: on the overrun a mixture may fail to light without harm.
bool pulls(const SteadyFigures& figures);
/// Whether its crank would lose more than a quarter of its speed between two firings: it snatches at its
/// chain or stops, and nobody can hold it there. Such places count neither for a target nor for a limit.
bool lugging(const SteadyFigures& figures);

std::string region_of(double opening);  ///< "small" below 15 %, "part" below 60 %, "full"
std::map<std::string, double> usual_targets();

struct Judgement {
  double error = 0.0;  ///< [-] root mean square of lambda over target less 1, where the engine pulls
  double lean_margin = INFINITY;  ///< [-] least distance below the lean limit; negative: beyond it
  std::size_t lean_at = 0;        ///< place
  double rich_margin = INFINITY;  ///< [-] least distance above the fouling limit
  std::size_t rich_at = 0;
  int judged = 0;                    ///< points that pull and can be held
  int misfiring = 0;                 ///< of these, points that miss
  int lugging = 0;                   ///< points left out because the engine cannot be held there
  double lugging_margin = INFINITY;  ///< [-] least distance below the lean limit among these
  int unsettled = 0;                 ///< points that do not repeat, or were not computed
  int failed = 0;                    ///< of these, not computed: nothing is known there
  /// Inside the lean limit by more than the model can be wrong, every charge under load lit, all known, and
  /// something to judge by.
  bool safe() const { return judged > 0 && lean_margin >= model_accuracy && misfiring == 0 && failed == 0; }
};

/// Judges points where the engine pulls and can be held; what was not computed counts as unsafe.
Judgement judge(const std::vector<Place>& places, const std::vector<SteadyFigures>& figures,
                const std::map<std::string, double>& targets);

/// "at 3,000 1/min and 20 %", with the altitude where there is more than one.
std::string place_text(const SteadyGrid& grid, std::size_t i);

/// What was left out, in a sentence with its line end, or nothing.
std::string lugging_text(const Judgement& verdict);

}  // namespace glassbowl::sim
