#include "sim/studies/sheet_study.hpp"

#include <fmt/format.h>

#include "sim/bike/provenance.hpp"
#include "sim/report/tuning_sheet.hpp"
#include "sim/run/version.hpp"
#include "sim/studies/jets_study.hpp"
#include "sim/studies/overlap_study.hpp"
#include "sim/studies/sensitivity.hpp"
#include "sim/studies/uncertain_text.hpp"

namespace glassbowl::sim {
namespace {

std::string conditions_of(const SearchOutcome& search) {
  std::string text = "Computed for ";
  for (std::size_t i = 0; i < search.grid.altitudes.size(); ++i)
    text += fmt::format("{}{:.0f} m", i == 0 ? "" : ", ", search.grid.altitudes[i]);
  text += " above the sea, ";
  for (std::size_t i = 0; i < search.grid.warmer.size(); ++i)
    text += fmt::format("{}{:+.0f} K", i == 0 ? "" : ", ", search.grid.warmer[i]);
  return text + " from a standard day.";
}

std::vector<SheetSetting> settings_for(const ResolvedCase& resolved, const SearchOutcome& search) {
  std::vector<SheetSetting> rows;
  for (const auto& a : adjusters_of(resolved)) {
    SheetSetting row{a.name, a.text(a.fitted), a.text(a.fitted), ""};
    for (std::size_t k = 0; k < search.adjusters.size(); ++k) {
      if (search.adjusters[k].id != a.id) continue;
      const double value = advised(search).values[k];
      if (!found_inside(search)) {
        row.advised = "none found";
        const Judgement& fitted = search.fitted.verdict;
        row.note = fitted.judged == 0                     ? "not judged"
                   : fitted.no_danger()                   ? "sizes not known well enough"
                   : fitted.lean_margin < search_rounding ? "what is fitted is too lean; try richer"
                                                          : "what is fitted is beyond a limit";
      } else if (!a.setting(value).empty()) {
        row.advised = a.text(value);
        row.note = a.leaner(value) ? "LEANER" : "richer";
      }
    }
    rows.push_back(std::move(row));
  }
  return rows;
}

}  // namespace

StudyResult run_sheet(const ResolvedCase& resolved, const StudyRequest& request, PointScheduler& scheduler) {
  const SearchOutcome search = search_jets(resolved, request, scheduler);
  StudyResult out = tell_jets(resolved, request, search, nullptr);
  StudyRequest about_overlap;
  about_overlap.study = "overlap";
  about_overlap.accuracy = request.accuracy;
  about_overlap.openings = request.openings;
  const std::vector<double>& values = advised(search).values;
  const StudyResult overlap =
      run_overlap(read_case_text(resolved.text, resolved.name, settings_of(search.adjusters, values)),
                  about_overlap, scheduler);

  TuningSheet sheet;
  sheet.bike = resolved.title.empty() ? resolved.name : resolved.name + " (" + resolved.title + ")";
  sheet.conditions = conditions_of(search);
  sheet.verdict = out.verdict;
  sheet.caution = out.caution;
  sheet.leaner = runs_leaner(search, advised(search));
  sheet.answer = out.answer;
  sheet.values =
      "Values of the machine: " + provenance_text(resolved) + ".\n" +
      (search.uncertain ? rests_on_text(resolved, *search.uncertain) + named_text(*search.uncertain)
                        : sensitivities_text(find_sensitivities(resolved, scheduler)));
  sheet.settings = settings_for(resolved, search);
  sheet.charts = out.charts;
  std::erase_if(sheet.charts, [](const Chart& chart) {  // room for what is fitted and the best
    return chart.name.starts_with("best") && !chart.name.starts_with("best1_");
  });
  sheet.charts.insert(sheet.charts.end(), overlap.charts.begin(), overlap.charts.end());
  sheet.made_by = fmt::format("glassbowl {}", program_version());
  out.charts = sheet.charts;
  out.sheet = std::move(sheet);
  return out;
}

}  // namespace glassbowl::sim
