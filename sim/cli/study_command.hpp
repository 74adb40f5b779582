#pragma once
#include <atomic>
#include <optional>
#include <string>
#include <vector>

namespace CLI {
class App;
}

namespace glassbowl::sim {

/// What a user gives to one of the study commands, as text.
struct StudyOptions {
  std::string study;   // the command; "repeat" takes everything from a study's file
  std::string source;  // case, name of a shipped run, trace; or a study to repeat
  std::vector<std::string> sets;
  std::string output;
  std::optional<std::string> speeds, openings, altitudes, warmer;
  std::vector<std::string> variants, tries, targets, change;
  std::string beside;
  unsigned threads = 0;
  bool force = false, no_charts = false, pdf = false, json = false;
  std::optional<int> uncertain;          // bikes drawn; what is usual for the study where not given
  std::optional<std::string> lean_risk;  // of jets
};

/// Declares the study commands below `app`; the one that is given fills `options`.
void declare_studies(CLI::App& app, StudyOptions& options, const char* footer);

int study_command(const StudyOptions& options, const std::atomic<bool>& stop);

}  // namespace glassbowl::sim
