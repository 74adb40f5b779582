#pragma once
#include <filesystem>
#include <string>
#include <vector>

#include "sim/bike/bike.hpp"
#include "sim/bike/sizes_in_stock.hpp"
#include "sim/cases/keys.hpp"
#include "sim/solver/stepper.hpp"

namespace glassbowl::sim {

/// How long to run, how finely, what to keep.
struct RunPlan {
  double duration = 1.0;         ///< [s] from time 0, where schedules start
  double settle = 0.0;           ///< [s] before time 0, with all schedules at their first point
  double trace_interval = 1e-4;  ///< [s] between rows of the trace
  StepOptions step;
};

/// A case, read and checked: parameters only.
struct ResolvedCase {
  std::string name;  ///< of the file, without folder and ending
  std::string title;
  Bike<double> bike;
  RunPlan plan;
  Stock stock;
  std::string text;  ///< the whole case as TOML, to read it again from
  std::vector<std::string> warnings;
  bool invented = false;        ///< demonstration data, by what the case says of itself
  std::vector<Origin> origins;  ///< where each value came from
};

/// Reads a case file with overrides "key.path=VALUE". Throws Error with all problems at once.
ResolvedCase read_case(const std::filesystem::path& file, const std::vector<std::string>& sets = {});

/// The same from text, as a trace keeps it.
ResolvedCase read_case_text(std::string text, std::string name, const std::vector<std::string>& sets = {});

/// What a case may give: every key as declared.
std::vector<Declaration> declared_keys();

/// Every key with meaning, range and default.
std::string list_keys();

}  // namespace glassbowl::sim
