#include <fmt/format.h>

#include "sim/api/error.hpp"
#include "sim/cli/commands.hpp"
#include "sim/cli/outputs.hpp"
#include "sim/cli/progress_bar.hpp"
#include "sim/cli/say.hpp"
#include "sim/cli/source.hpp"
#include "sim/report/summary_json.hpp"
#include "sim/report/summary_text.hpp"
#include "sim/report/wrap_text.hpp"
#include "sim/run/run_case.hpp"
#include "sim/studies/sensitivity.hpp"

namespace glassbowl::sim {

namespace {

/// Which of the values that are not the owner's to measure first. A demonstration has no owner.
void tell_sensitivities(const ResolvedCase& resolved) {
  constexpr double most_seconds = 10.0;
  std::fflush(stdout);
  const auto quick = find_sensitivities_quickly(resolved, Scope::usual, most_seconds);
  if (const auto text = sensitivities_text(quick.found); !text.empty()) say("\n{}", wrapped(text, "", "  "));
}

}  // namespace

int run_command(const RunOptions& options, const std::atomic<bool>& stop) {
  if (options.no_trace && !options.output.empty())
    throw Error(ErrorKind::input, "--output and --no-trace contradict each other; give one of them");
  const ResolvedCase resolved = read_source(options.source, options.sets);

  RunRequest request;
  if (!options.no_trace) request.trace = options.output.empty() ? resolved.name + ".h5" : options.output;
  if (!options.csv.empty()) request.csv = options.csv;
  std::vector<std::filesystem::path> outputs;
  if (request.trace) outputs = {*request.trace, request.trace->string() + ".partial"};
  if (request.csv) outputs.push_back(*request.csv);
  if (request.csv) outputs.emplace_back(request.csv->string() + ".partial");
  refuse_own_input(outputs, files_of(options.source));
  request.force = options.force;
  request.stop = &stop;

  Summary summary;
  {
    ProgressBar bar;
    request.progress = [&bar](double share, double time) { bar.show(share, time); };
    summary = run_case(resolved, request);
  }
  if (options.json) {
    say("{}\n", summary_json(summary));
  } else {
    say("{}", summary_text(summary));
    if (request.trace) say("{}", summary_line("trace", request.trace->string()));
    if (request.csv) say("{}", summary_line("cycle table", request.csv->string()));
    if (!options.no_sensitivity && !resolved.invented && summary.ending == Ending::complete)
      tell_sensitivities(resolved);
    say("{}", summary_caution(summary));
  }
  if (summary.ending == Ending::complete) return 0;
  if (summary.ending == Ending::stalled) {
    say_to(stderr, "glassbowl: {}: the engine stalled; the summary says when and why\n", resolved.name);
    return 1;
  }
  say_to(stderr, "glassbowl: interrupted at {:.3f} s of {:.3f} s\n", summary.simulated,
         resolved.plan.duration);
  return 1;
}

}  // namespace glassbowl::sim
