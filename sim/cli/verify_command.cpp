#include <fmt/format.h>

#include <vector>

#include "sim/cli/commands.hpp"
#include "sim/cli/progress_bar.hpp"
#include "sim/cli/say.hpp"
#include "sim/validation/check.hpp"

namespace glassbowl::sim {

int verify_command(const VerifyOptions& options) {
  std::vector<validation::Row> rows;
  {
    ProgressBar bar;
    rows = validation::run_all_checks([&bar](double share, double time) { bar.show(share, time); });
  }
  say("{}", options.json  ? validation::json_rows(rows)
            : options.all ? validation::format_table(rows)
                          : validation::format_summary(rows));
  if (!options.json && !options.all) say("\nAll comparisons, one row each: glassbowl verify --all\n");
  const auto summary = validation::summarise(rows);
  return summary.failed == 0 && summary.outdated == 0 ? 0 : 1;
}

}  // namespace glassbowl::sim
