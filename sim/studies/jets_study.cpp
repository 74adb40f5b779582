#include "sim/studies/jets_study.hpp"

#include <fmt/format.h>

#include <cmath>

namespace glassbowl::sim {
namespace {

std::string verdict_text(const SteadyGrid& grid, const Judgement& j) {
  std::string text = fmt::format("off the target by {:.1f} % on average", j.error * 100);
  text +=
      j.lean_margin >= 0
          ? fmt::format("; {:.3f} from the lean limit ({})", j.lean_margin, place_text(grid, j.lean_at))
          : fmt::format("; {:.3f} BEYOND the lean limit ({})", -j.lean_margin, place_text(grid, j.lean_at));
  text += j.rich_margin >= 0 ? fmt::format("; {:.2f} from fouling", j.rich_margin)
                             : fmt::format("; {:.2f} too rich ({}): plugs may foul", -j.rich_margin,
                                           place_text(grid, j.rich_at));
  if (j.misfiring > 0) text += fmt::format("; misfires at {} points under load", j.misfiring);
  return text;
}

void add_outcome(const SearchOutcome& out, const std::string& prefix, ResultFile& file) {
  const std::string axis = prefix + "candidate";
  std::vector<const Candidate*> all{&out.fitted};
  for (const auto& c : out.best) all.push_back(&c);
  ResultAxis numbers{axis, "1", "0 as fitted, then the best, best first", {}};
  ResultText words{axis + "_setting", "change from what is fitted", axis, {}};
  std::vector<SteadyFigures> figures;
  std::vector<ResultVariable> verdicts{
      {prefix + "error", "1", "root mean square of lambda over its target less 1", {axis}, {}},
      {prefix + "lean_margin", "1", "least distance below the lean limit", {axis}, {}},
      {prefix + "rich_margin", "1", "least distance above the fouling limit", {axis}, {}},
      {prefix + "misfiring", "1", "points under load that misfire", {axis}, {}}};
  for (std::size_t k = 0; k < all.size(); ++k) {
    numbers.values.push_back(static_cast<double>(k));
    words.values.push_back(change_text(out.adjusters, all[k]->values));
    figures.insert(figures.end(), all[k]->figures.begin(), all[k]->figures.end());
    const Judgement& j = all[k]->verdict;
    for (const auto& [v, value] :
         {std::pair{0, j.error}, std::pair{1, j.lean_margin}, std::pair{2, j.rich_margin},
          std::pair{3, static_cast<double>(j.misfiring)}})
      verdicts[static_cast<std::size_t>(v)].values.push_back(value);
  }
  file.axes.push_back(std::move(numbers));
  file.texts.push_back(std::move(words));
  for (auto& v : verdicts) file.variables.push_back(std::move(v));
  add_maps(file, figures, axis, prefix);
}

std::string outcome_table(const SearchOutcome& out) {
  std::string text = "\n              error   lean     rich\n  setting     %       margin   margin  ";
  for (const auto& a : out.adjusters) text += fmt::format("  {:>14}", a.name);
  text += "\n";
  const auto row = [&](const std::string& name, const Candidate& c) {
    text += fmt::format("  {:<10} {:>5.2f}  {:>7.3f}  {:>7.3f}  ", name, c.verdict.error * 100,
                        c.verdict.lean_margin, c.verdict.rich_margin);
    for (std::size_t k = 0; k < out.adjusters.size(); ++k)
      text += fmt::format("  {:>14}", out.adjusters[k].text(c.values[k]));
    text += "\n";
  };
  row("as fitted", out.fitted);
  for (std::size_t k = 0; k < out.best.size(); ++k) row(fmt::format("best {}", k + 1), out.best[k]);
  return text;
}

void add_charts(const SearchOutcome& out, const std::string& prefix, const std::string& when,
                StudyResult& result) {
  for (std::size_t a = 0; a < out.grid.altitudes.size(); ++a) {
    const std::string at = fmt::format("{:.0f}m", out.grid.altitudes[a]);
    result.charts.push_back(
        lambda_chart(out.grid, out.fitted.figures, a, prefix + "fitted_" + at,
                     fmt::format("Lambda as fitted{}, {:.0f} m", when, out.grid.altitudes[a])));
    for (std::size_t k = 0; k < out.best.size(); ++k)
      result.charts.push_back(
          lambda_chart(out.grid, out.best[k].figures, a, fmt::format("{}best{}_{}", prefix, k + 1, at),
                       fmt::format("Lambda, best {}{}, {:.0f} m", k + 1, when, out.grid.altitudes[a])));
  }
}

SteadyFigures most_power(const Candidate& candidate) {
  SteadyFigures top = candidate.figures.front();
  for (const auto& f : candidate.figures)
    if (!(top.power >= f.power) && f.usable()) top = f;
  return top;
}

}  // namespace

std::string change_text(const std::vector<Adjuster>& adjusters, const std::vector<double>& values) {
  std::string text;
  for (std::size_t k = 0; k < adjusters.size(); ++k) {
    const auto& a = adjusters[k];
    if (a.setting(values[k]).empty()) continue;
    const bool richer = (values[k] > a.fitted) == a.larger_is_richer;
    text += fmt::format("{}{} {} to {} ({})", text.empty() ? "" : "; ", a.name, a.text(a.fitted),
                        a.text(values[k]), richer ? "richer" : "leaner");
  }
  return text.empty() ? "as fitted" : text;
}

bool goes_leaner(const std::vector<Adjuster>& adjusters, const std::vector<double>& values) {
  for (std::size_t k = 0; k < adjusters.size(); ++k)
    if (!adjusters[k].setting(values[k]).empty() &&
        (values[k] > adjusters[k].fitted) != adjusters[k].larger_is_richer)
      return true;
  return false;
}

const Candidate& advised(const SearchOutcome& out) {
  if (out.best.empty()) return out.fitted;
  const Judgement &fitted = out.fitted.verdict, &first = out.best.front().verdict;
  return fitted.safe() && fitted.error - first.error < model_accuracy ? out.fitted : out.best.front();
}

bool safe_found(const SearchOutcome& out) {
  return advised(out).verdict.safe();
}

std::string caution_text(const SearchOutcome& out) {
  std::string text;
  for (std::size_t k = 0; k < out.descent.size(); ++k) {
    if (!goes_leaner(out.adjusters, out.best[k].values)) continue;
    if (text.empty())
      text =
          "THE WAY DOWN FIRST: what is right at the top is too lean at the bottom, where the air is dense.\n";
    const double margin = out.descent[k].lean_margin;
    text += out.descent[k].safe()
                ? fmt::format("Best {} taken down to the sea: {:.2f} from the lean limit.\n", k + 1, margin)
            : margin < model_accuracy
                ? fmt::format("Best {} taken down to the sea: {:.2f} {} the lean limit. DANGEROUS.\n", k + 1,
                              std::abs(margin), margin < 0.0 ? "BEYOND" : "from")
                : fmt::format("Best {} taken down to the sea misfires. DANGEROUS.\n", k + 1);
  }
  if (!text.empty()) text += "Change back before the descent.\n";
  return text + leaner_caution;
}

std::string outcome_text(const SearchOutcome& out) {
  const Judgement& fitted = out.fitted.verdict;
  if (fitted.judged == 0)
    return lugging_text(fitted) +
           "Nothing is judged, and nothing recommended: at none of these points does the engine pull at a "
           "speed that one can hold. Give others with --speeds and --openings.\n";
  std::string text = fmt::format("As fitted: {}.\n", verdict_text(out.grid, fitted));
  text += lugging_text(fitted);
  if (out.best.empty())
    return text +
           fmt::format(
               "Nothing is recommended: none of the {} combinations stays inside the lean limit and lights "
               "every charge at all points under load; the nearest comes to {:+.3f} of the limit where "
               "{:.3f} "
               "is asked for. {}eave out speeds and openings that are not ridden.\n",
               out.combinations, out.closest, model_accuracy,
               out.closest < model_accuracy ? "Try richer sizes, or l" : "L");
  const Candidate& first = out.best.front();
  const double gain = out.fitted.verdict.error - first.verdict.error;
  if (change_text(out.adjusters, advised(out).values) == "as fitted")
    text += gain > 0.0
                ? fmt::format(
                      "Leave it as it is: the best found is {:.1f} % nearer to the target, less than "
                      "the model can tell ({:.1f} %).\n",
                      gain * 100, model_accuracy * 100)
                : std::string("Leave it as it is: no other safe setting found is nearer to the target.\n");
  if (!out.fitted.verdict.safe() && gain < 0.0)
    text += "What is fitted is nearer to the target, but not safe; of those that are, these come nearest.\n";
  for (std::size_t k = 0; k < out.best.size(); ++k) {
    const Candidate& c = out.best[k];
    text += fmt::format(
        "{}Best {}: {}.\n    {}.\n",
        goes_leaner(out.adjusters, c.values) ? "CAUTION, leaner in part, read what stands first. " : "",
        k + 1, change_text(out.adjusters, c.values), verdict_text(out.grid, c.verdict));
    if (k > 0 && c.verdict.error - first.verdict.error < model_accuracy)
      text += "    Equal to the first as far as the model can tell.\n";
  }
  if (out.unsafe > 0)
    text += fmt::format(
        "Left out: {} of the combinations looked at, as they come nearer to the lean limit than "
        "{:.3f}, pass it or misfire under load.\n",
        out.unsafe, model_accuracy);
  const std::size_t places = out.grid.size();
  text += fmt::format(
      "How it was searched: all {} combinations were estimated first. The {} most promising were ",
      out.combinations, out.checked);
  text += out.sampled < places
              ? fmt::format("then computed at {} of the {} places, and the best {} of these at all places. ",
                            out.sampled, places, out.whole)
              : fmt::format("then computed at all {} places. ", places);
  text += fmt::format("Estimated and computed distance from the target differed by at most {:.1f} %.\n",
                      out.surprise * 100);
  return text;
}

StudyResult run_jets(const ResolvedCase& resolved, const StudyRequest& request, PointRunner& runner) {
  const SearchOutcome before = search_jets(resolved, request, runner);
  if (request.change.empty()) return tell_jets(resolved, request, before, nullptr);
  const SearchOutcome after =
      search_jets(read_case_text(resolved.text, resolved.name, request.change), request, runner);
  return tell_jets(resolved, request, before, &after);
}

StudyResult tell_jets(const ResolvedCase& resolved, const StudyRequest& request, const SearchOutcome& before,
                      const SearchOutcome* after) {
  StudyResult result;
  result.file = new_result(resolved, request);
  add_grid_axes(result.file, before.grid);
  add_outcome(before, "", result.file);
  result.caution = caution_text(before);
  if (before.fitted.verdict.judged > 0 && !before.fitted.verdict.safe())
    result.caution =
        "DO NOT RIDE it as fitted: it comes too near to the lean limit, passes it, misfires under load, or "
        "is not known at some place.\n" +
        result.caution;
  result.answer = outcome_text(before);
  result.table = outcome_table(before);
  add_charts(before, "", "", result);
  if (after == nullptr) return result;

  add_outcome(*after, "after_", result.file);
  const SteadyFigures top = most_power(before.fitted), top_after = most_power(after->fitted);
  result.caution = caution_text(*after);
  if (!after->fitted.verdict.safe())
    result.caution =
        "DO NOT RIDE the changed engine with the old jets: they come too near to the lean limit, pass it or "
        "misfire.\n" +
        result.caution;
  result.answer = "Before the change of the engine\n" + result.answer + "\nAfter it\n" +
                  fmt::format("Most power with the jets as fitted: {:.1f} kW, before {:.1f} kW.\n",
                              top_after.power * 1e-3, top.power * 1e-3) +
                  outcome_text(*after);
  result.table += "\nAfter the change" + outcome_table(*after);
  add_charts(*after, "after_", " after the change", result);
  return result;
}

}  // namespace glassbowl::sim
