#include "sim/bike/provenance.hpp"
#include "sim/cli/commands.hpp"
#include "sim/cli/say.hpp"
#include "sim/cli/source.hpp"
#include "sim/report/wrap_text.hpp"
#include "sim/studies/sensitivity.hpp"

namespace glassbowl::sim {
namespace {

constexpr double most_seconds = 20.0, most_seconds_of_all = 300.0;  // [s] of computation

/// A comment, so that all that is printed can be kept and read as a case.
void comment(const std::string& text) {
  say("{}", wrapped(text, "# ", "#   "));
}

void tell_computed(const ResolvedCase& resolved, bool every_value) {
  const auto quick = find_sensitivities_quickly(resolved, every_value ? Scope::every_value : Scope::usual,
                                                every_value ? most_seconds_of_all : most_seconds);
  if (!quick.why_not.empty()) return comment("not computed, where the engine misfires: " + quick.why_not);
  if (const auto text = misfires_text(quick.found); !text.empty()) comment("warning: " + text);
  if (const auto text = sensitivities_text(quick.found); !text.empty()) comment(text);
}

}  // namespace

int check_command(const CheckOptions& options) {
  const auto bike = read_bike_alone(options.source, options.sets);
  const ResolvedCase resolved = bike ? *bike : read_source(options.source, options.sets);
  say("{}\n", bike ? without_ride(resolved.text) : resolved.text);
  if (bike) comment("No ride is given: this cannot be `run`, but studies work, as they bring their own.");
  comment(resolved.warnings.empty() ? "No warnings." : "Legal, but doubtful:");
  for (const auto& warning : resolved.warnings) comment("warning: " + warning);
  comment("Values of the machine: " + provenance_text(resolved) + ".");
  if (!options.no_computation) {
    std::fflush(stdout);
    tell_computed(resolved, options.every_value);
  }
  return 0;
}

}  // namespace glassbowl::sim
