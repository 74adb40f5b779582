#include <fmt/format.h>

#include <vector>

#include "sim/cli/commands.hpp"
#include "sim/cli/progress_bar.hpp"
#include "sim/cli/say.hpp"
#include "tests/published/check.hpp"

namespace glassbowl::sim {

int verify_command(const VerifyOptions& options) {
  std::vector<published::Row> rows;
  {
    ProgressBar bar;
    rows = published::run_all_checks([&bar](double share, double time) { bar.show(share, time); });
  }
  say("{}", options.json ? published::json_rows(rows) : published::format_table(rows));
  const auto summary = published::summarise(rows);
  return summary.failed == 0 && summary.outdated == 0 ? 0 : 1;
}

}  // namespace glassbowl::sim
