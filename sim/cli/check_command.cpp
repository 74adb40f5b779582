#include <fmt/format.h>

#include "sim/cli/commands.hpp"
#include "sim/cli/say.hpp"
#include "sim/cli/source.hpp"

namespace glassbowl::sim {

int check_command(const CheckOptions& options) {
  const ResolvedCase resolved = read_source(options.source, options.sets);
  say("{}", resolved.text);
  // As comments, so that what is printed can be kept and read as a case.
  say("\n# {}\n", resolved.warnings.empty() ? "No warnings." : "Legal, but doubtful:");
  for (const auto& warning : resolved.warnings) say("# warning: {}\n", warning);
  return 0;
}

}  // namespace glassbowl::sim
