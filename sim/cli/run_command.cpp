#include <fmt/format.h>

#include "sim/api/error.hpp"
#include "sim/cli/commands.hpp"
#include "sim/cli/outputs.hpp"
#include "sim/cli/progress_bar.hpp"
#include "sim/cli/source.hpp"
#include "sim/report/json.hpp"
#include "sim/report/text.hpp"
#include "sim/run/runner.hpp"

namespace glassbowl::sim {

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
    fmt::print("{}\n", summary_json(summary));
  } else {
    fmt::print("{}", summary_text(summary));
    if (request.trace) fmt::print("  {:<24}{}\n", "trace", request.trace->string());
    if (request.csv) fmt::print("  {:<24}{}\n", "cycle table", request.csv->string());
    fmt::print("{}", summary_caution(summary));
  }
  if (summary.ending == Ending::complete) return 0;
  if (summary.ending == Ending::stalled) {
    fmt::print(stderr, "glassbowl: {}: the engine stalled; the summary says when and why\n", resolved.name);
    return 1;
  }
  fmt::print(stderr, "glassbowl: interrupted at {:.3f} s of {:.3f} s\n", summary.simulated,
             resolved.plan.duration);
  return 1;
}

}  // namespace glassbowl::sim
