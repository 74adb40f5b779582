#pragma once
#include <filesystem>
#include <string>
#include <vector>

#include "sim/bike/bike.hpp"
#include "sim/bike/completion.hpp"
#include "sim/bike/sizes_in_stock.hpp"
#include "sim/bike/step_options.hpp"
#include "sim/cases/keys.hpp"

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
  OpenTargets open;             ///< what a search has to find before the case means what it says
};

/// Reads a case file with overrides "key.path=VALUE" and what was found for its targets. Throws Error with
/// all problems at once.
ResolvedCase read_case(const std::filesystem::path& file, const std::vector<std::string>& sets = {},
                       const FoundValues& found = {});

/// The same from text, as a trace keeps it.
ResolvedCase read_case_text(std::string text, std::string name, const std::vector<std::string>& sets = {},
                            const FoundValues& found = {});

/// What a case may give: every key as declared.
std::vector<Declaration> declared_keys();

/// The same, each with its default as TOML, empty where it is required.
std::vector<std::pair<Declaration, std::string>> declared_defaults();

/// Every key with meaning, range and default.
std::string list_keys();

/// What a case may hold, as a JSON Schema (draft 2020-12) for editors.
std::string case_schema();

}  // namespace glassbowl::sim
