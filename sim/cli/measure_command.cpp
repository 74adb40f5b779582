#include <fmt/format.h>

#include "sim/api/error.hpp"
#include "sim/api/new_file.hpp"
#include "sim/api/print_pdf.hpp"
#include "sim/cli/commands.hpp"
#include "sim/cli/outputs.hpp"
#include "sim/cli/say.hpp"
#include "sim/cli/source.hpp"
#include "sim/cli/study_bar.hpp"
#include "sim/report/wrap_text.hpp"
#include "sim/studies/measuring.hpp"

namespace glassbowl::sim {

int measure_command(const MeasureOptions& o, const std::atomic<bool>& stop) {
  namespace fs = std::filesystem;
  const auto bike = read_bike_alone(o.source, o.sets);
  const ResolvedCase resolved = bike ? *bike : read_source(o.source, o.sets);
  const fs::path page = o.output.empty() ? fs::path(resolved.name + "-measure.html") : fs::path(o.output);
  fs::path pdf = page;
  pdf.replace_extension(".pdf");
  refuse_own_input({page, pdf}, files_of(o.source));
  check_output(page, o.force);
  if (o.pdf) {
    require_printer();
    check_output(pdf, o.force);
  }
  WhatToMeasure found;
  try {
    StudyBar bar;
    PointScheduler scheduler(nullptr, o.threads, &stop,
                             [&](std::size_t done, std::size_t of) { bar.show(done, of); });
    found = find_what_to_measure(resolved, scheduler);
  } catch (const StudyInterrupted&) {
    say_to(stderr, "glassbowl: interrupted; nothing is written\n");
    return 1;
  }
  const std::string html = measuring_sheet_html(resolved, found);
  write_new_file(page, o.force, html);
  say("{}", wrapped(fmt::format(
                "Lambda as described: known within +- {:.2f}; with the first ten of these measured, "
                "within +- {:.2f} (95 %).\n",
                found.range_now, found.range_after)));
  say("{}\nMeasuring sheet\n  {}\n", wrapped(what_to_measure_text(found, 10)), page.string());
  if (o.pdf) {
    print_pdf(html, pdf, o.force);
    say("  {}\n", pdf.string());
  }
  return 0;
}

}  // namespace glassbowl::sim
