#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "sim/bike/resolved_case.hpp"
#include "sim/points/steady_point.hpp"
#include "sim/report/chart.hpp"
#include "sim/report/tuning_sheet.hpp"
#include "sim/trace/result_file.hpp"

namespace glassbowl::sim {

struct Variant {
  std::string name;
  Sets sets;
};

/// What a study is asked; with the case it says everything that the result depends on. Empty lists and NaN
/// are filled with the study's defaults by `complete_request`.
struct StudyRequest {
  std::string study;              ///< "map", "overlap", "blips", "altitude", "jets", "compare", "sheet"
  std::vector<double> speeds;     ///< [rad/s]
  std::vector<double> openings;   ///< [-]
  std::vector<double> altitudes;  ///< [m]
  std::vector<double> warmer;     ///< [K] than a standard day; replaces that of the case
  std::vector<Variant> variants;  ///< blips
  std::map<std::string, std::vector<double>> tries;  ///< jets: adjuster -> SI values
  std::map<std::string, double> targets;             ///< jets: region -> lambda
  Sets change;                                       ///< engine change, before the same search again
  std::string beside, beside_name;                   ///< second case, TOML
  PointAccuracy accuracy;
};

std::string request_json(const StudyRequest& request);
/// Throws Error{file} where the text is not what `request_json` writes.
StudyRequest request_from_json(const std::string& text);

/// What came of a study.
struct StudyResult {
  ResultFile file;
  std::string verdict;  ///< said first: inside the limits at all points examined, beyond one, or not known
  std::string caution;  ///< said next where the answer may lead to leaner running, else empty
  std::string answer;   ///< plain words
  std::string table;
  std::vector<Chart> charts;
  std::optional<TuningSheet> sheet;  ///< what goes on the page, of that study only
};

/// Runs what the request names. `resolved` is used as it stands, with the common jet sizes for empty lists.
/// Throws Error, StudyInterrupted.
StudyResult run_study(const ResolvedCase& resolved, const StudyRequest& request, PointScheduler& scheduler);

/// How the names of this study's charts begin.
std::vector<std::string> chart_names(const std::string& study);

/// The caution that goes before every answer that may lead to leaner running, worded by effect.
extern const char* const leaner_caution;

double per_minute(double speed);  ///< [rad/s] -> [1/min]
double from_per_minute(double speed);

}  // namespace glassbowl::sim
