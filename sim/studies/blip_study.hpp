#pragma once

#include <cmath>

#include "sim/studies/study.hpp"

namespace glassbowl::sim {

/// One blip: its measures, and speed (or torque, where the speed is held) and leanest trapped lambda over
/// time, at equal intervals.
struct BlipFigures {
  double lag_10 = NAN, lag_50 = NAN, lag_90 = NAN, rise_50 = NAN;  ///< [s]
  double leanest = NAN, richest = NAN, lean_area = NAN;            ///< [-], [-], [s]
  double misfires = NAN, lift_50 = NAN, pump_volume = NAN;         ///< [-], [s], [m³]
  double stalled = 0.0, torque = 0.0;                              ///< [-] flags
  std::vector<double> time, response, lambda;                      ///< [s], [rad/s or N m], [-]
  bool computed() const { return !std::isnan(stalled); }
};

/// `name` is what users call it. One whose run fails, or that is no legal case, is not `computed`.
PointTask blip_task(const std::string& case_text, const Sets& sets, const std::string& name);
BlipFigures to_blip(const std::vector<double>& values);

/// Variants that show what pump, piston and level do on this carburetor, the fitted one first.
std::vector<Variant> usual_variants(const ResolvedCase& resolved);

/// The case itself if its throttle is blipped, else with a blip from a warm idle in neutral.
ResolvedCase with_blip(const ResolvedCase& resolved);

StudyResult run_blips(const ResolvedCase& resolved, const StudyRequest& request, PointScheduler& scheduler);

/// The measures of several blips side by side, and both charts.
std::string blip_table(const std::vector<std::string>& names, const std::vector<BlipFigures>& blips);
std::vector<Chart> blip_charts(const std::vector<std::string>& names, const std::vector<BlipFigures>& blips);
void add_blips(ResultFile& file, const std::vector<std::string>& names, const std::vector<BlipFigures>& blips,
               const std::string& axis);

}  // namespace glassbowl::sim
