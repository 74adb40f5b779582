#pragma once

#include <cmath>
#include <map>
#include <string>

#include "sim/run/lean_limit_under_load.hpp"
#include "sim/studies/steady_map.hpp"

/// What counts as a good, a dangerous and a fouling mixture, and the verdict on a set of operating points.
/// All limits here are common practice, no published source; they are the program's choice and said wherever
/// they are used.
namespace glassbowl::sim {

/// [-] Rounding of the search: smaller differences of lambda or of the mean lambda error are no significant
/// difference, and a margin to the lean limit must be at least this. It is not how well a model without
/// measurements knows lambda: see `unmeasured_sizes`.
inline constexpr double search_rounding = 0.015;
/// Said beside each margin. Source  usual spreads of eleven sizes that nobody measured (jets, screw, float
/// level, signal, filter, valve lift) move lambda at points of the shipped V-twin's map by 0.084 rms, 0.22 at
/// most; computed with this program.
inline constexpr const char* unmeasured_sizes = "unmeasured sizes can move lambda by 0.1 and more";
inline constexpr double fouling_limit = 0.72;  ///< [-] richer for long soots plugs and washes the bore
inline constexpr double most_swing = 0.25;     ///< [-] see `lugging`
inline constexpr double most_misfires = 0.02;  ///< [-] share of cycles from which on a point misfires

/// Whether the engine pulls here: on the overrun a mixture may fail to light without harm.
bool pulls(const SteadyFigures& figures);
/// Whether its crank would lose more than a quarter of its speed between two firings: it snatches at its
/// chain or stops, and cannot be run steadily there. Such points count neither for a target nor for a limit.
bool lugging(const SteadyFigures& figures);

/// Whether a second cycle that repeats was found here.
bool two_valued(const SteadyFigures& figures);
/// Lambda of the leanest cylinder [-], of the leaner cycle where two repeat.
double leanest_of(const SteadyFigures& figures);

std::string region_of(double opening);  ///< "small" below 15 %, "part" below 60 %, "full"
std::map<std::string, double> usual_targets();
/// "Target lambda: 0.93 below 15 % throttle, ..." with its line end.
std::string targets_text(const std::map<std::string, double>& targets);

/// The one finding that applies to a set of points; what endangers an engine most stands first.
enum class Finding {
  beyond_lean,  ///< a cylinder is leaner than the lean limit for its load
  misfires,     ///< a point under load misfires
  near_lean,    ///< less than `search_rounding` from the lean limit
  not_known,    ///< a point could not be computed
  not_judged,   ///< no point is under load at a speed at which the engine can be run
  beyond_rich,  ///< richer than the fouling limit: soots plugs, does no quick harm
  inside
};

/// What bikes drawn from the spreads of the sizes say of the points judged.
struct LeanOdds {
  int bikes = 0;             ///< computed; none: nothing is known
  int sizes = 0;             ///< that are not exact
  double probability = NAN;  ///< [-] of being beyond the lean limit at one of the points or more
  double margin_low = NAN, margin_high = NAN;  ///< [-] 95 % range of the least margin to it
  double expected_error = NAN;                 ///< [-] mean over the bikes of `Judgement::error`
  double allowed = 1.0;                        ///< [-] probability that is put up with

  bool known() const { return bikes > 0 && !std::isnan(probability); }
  bool too_likely() const { return probability > allowed; }
};

struct Judgement {
  double error = 0.0;  ///< [-] root mean square of lambda over target less 1, where the engine pulls
  double lean_margin = INFINITY;      ///< [-] least distance below the lean limit; negative: beyond it
  std::size_t lean_at = 0;            ///< point
  double leanest = 0.0, limit = 0.0;  ///< [-] lambda of the leanest cylinder there, and its limit
  double rich_margin = INFINITY;      ///< [-] least distance above the fouling limit
  std::size_t rich_at = 0;
  int judged = 0;         ///< points that pull and at which the engine can be run
  int beyond = 0;         ///< of these, points beyond the lean limit or nearer to it than `search_rounding`
  int misfiring = 0;      ///< of these, points that misfire
  double misfires = 0.0;  ///< [-] largest share of cycles that misfire
  std::size_t misfires_at = 0;
  int lugging = 0;                   ///< points left out because the engine cannot be run there
  double lugging_margin = INFINITY;  ///< [-] least distance below the lean limit among these
  int overrun = 0;                   ///< points left out because the engine does not pull
  int unsettled = 0;                 ///< points that do not converge, or were not computed
  int failed = 0;                    ///< of these, not computed: nothing is known there
  std::size_t failed_at = 0;         ///< the first of them
  LeanOdds odds;

  Finding finding() const;
  /// Whether no danger to the engine was found at any point, and all are known.
  bool no_danger() const { return finding() >= Finding::beyond_rich; }
  /// Whether it can be advised: nor is the lean limit passed by too many of the bikes that it may be.
  bool acceptable() const { return no_danger() && !odds.too_likely(); }
};

/// Judges points where the engine pulls and can be run; what was not computed is not known.
Judgement judge(const std::vector<Place>& places, const std::vector<SteadyFigures>& figures,
                const std::map<std::string, double>& targets);

/// "at 3000 rpm and 20 % throttle", with altitude and air where there is more than one.
std::string place_text(const SteadyGrid& grid, std::size_t i);

/// What was examined: "at 3500 rpm only; throttle 10, 30 and 100 %; altitude 0 and 2700 m". The air's
/// difference from the standard day is said where there is one.
std::string examined_text(const SteadyGrid& grid);

/// The finding in words, without capital or full stop: which limit, by how much, where.
std::string finding_text(const SteadyGrid& grid, const Judgement& judgement);

/// What every study begins with, a paragraph with its line end: inside the limits at all points examined,
/// beyond a limit, or not known; then which points these are. `subject` "as fitted", say, or a machine's
/// name.
std::string verdict_text(const SteadyGrid& grid, const Judgement& judgement, const std::string& subject);

/// "DO NOT RIDE ..." with the reason and a line end, or nothing where no danger was found. `subject` "it as
/// fitted", say.
std::string ride_warning(const SteadyGrid& grid, const Judgement& judgement, const std::string& subject);

/// "mean lambda error 3.2 %"; not known where nothing is judged or no fuel flows.
std::string error_text(const Judgement& judgement);

/// "0.032 (unmeasured sizes can move lambda by 0.1 and more)", or "not known".
std::string margin_text(double margin);
/// Decimals of its lean margin that are known.
int margin_digits(const Judgement& judgement);
/// The same of a judgement: "0.03 (95 %: -0.05 to 0.11)" where drawn bikes say so.
std::string lean_margin_text(const Judgement& judgement);
/// "31 %", "below 1 %", "above 99 %".
std::string probability_text(double probability);
/// What the drawn bikes say, a sentence without line end, or nothing.
std::string odds_text(const Judgement& judgement);

/// What was left out, in a sentence with its line end, or nothing.
std::string lugging_text(const Judgement& judgement);

}  // namespace glassbowl::sim
