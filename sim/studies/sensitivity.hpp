#pragma once

#include <string>
#include <vector>

#include "sim/bike/resolved_case.hpp"
#include "sim/points/point_scheduler.hpp"
#include "sim/points/steady_point.hpp"

namespace glassbowl::sim {

/// One value that is not the owner's, and how far lambda moves when it is off.
struct Sensitivity {
  Origin origin;
  std::string change;           ///< what was changed: "+10 %", "+1 mm"
  std::vector<double> moved{};  ///< [-] in-cylinder lambda, at each operating point; NaN where not computed
  std::size_t worst = 0;        ///< operating point where it moves most
  double most = 0.0;            ///< [-] its change there, with its sign
};

/// What a case's borrowed and default values may do to its mixture, and where the engine misfires.
struct Sensitivities {
  std::vector<Place> places;            ///< operating points of the differences
  std::vector<SteadyFigures> as_given;  ///< the case itself there
  std::vector<Sensitivity> ranked;      ///< all that were examined, largest change first
  std::vector<Place> scanned;           ///< small openings at one speed, in order
  std::vector<SteadyFigures> at_scanned;
};

/// How much is examined.
enum class Scope {
  usual,       ///< about 16 values that commonly matter
  every_value  ///< every borrowed or default quantity of the machine
};

/// Finite differences of the in-cylinder lambda of steady cycles at three operating points: 1,500 rpm and 4 %
/// throttle, 3,000 rpm and 25 %, 4,000 rpm and 100 %, in the air that the case begins with. Each value is
/// changed by what an unmeasured one may well be off (common practice, no published source), others by 5 %.
/// Besides, openings from 5 to 30 % at 3,000 rpm are computed as the case is. Throws what PointScheduler
/// throws.
Sensitivities find_sensitivities(const ResolvedCase& resolved, PointScheduler& scheduler,
                                 Scope scope = Scope::usual);

/// The same within a few seconds of computation on all cores, or a sentence that says why there is none.
struct QuickSensitivities {
  Sensitivities found;
  std::string why_not;
};
QuickSensitivities find_sensitivities_quickly(const ResolvedCase& resolved, Scope scope, double most_seconds);

/// Where the engine misfires at small openings, in words; empty where it does not.
std::string misfires_text(const Sensitivities& found);

/// The values that move lambda most, line by line; empty where none moves it by 0.005.
std::string sensitivities_text(const Sensitivities& found);

}  // namespace glassbowl::sim
