#pragma once

#include <string>
#include <vector>

#include "sim/report/chart.hpp"

namespace glassbowl::sim {

/// One row of the settings: what is fitted and what is advised.
struct SheetSetting {
  std::string name, now, advised;
  std::string note;  ///< "leaner", "richer" or empty
};

struct TuningSheet {
  std::string bike, conditions;
  std::string verdict;  ///< stands first
  std::string caution;  ///< stands next
  bool leaner = false;  ///< the advice goes leaner somewhere
  std::string answer;   ///< plain words, line by line
  std::string values;   ///< whose sizes these are, line by line
  std::vector<SheetSetting> settings;
  std::vector<Chart> charts;
  std::string made_by;  ///< program and version
};

/// A page that needs nothing else: no script, no font, no picture from elsewhere; prints on A4, fits a phone.
/// Throws Error{file} when a chart cannot be drawn.
std::string tuning_sheet_html(const TuningSheet& sheet);

}  // namespace glassbowl::sim
