#include "sim/studies/jets_study.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <sstream>

#include "sim/api/no_fuel.hpp"
#include "sim/report/lambda_text.hpp"
#include "sim/studies/uncertain_text.hpp"

namespace glassbowl::sim {
namespace {

/// Distance to target and limits; a negative margin is beyond the limit.
std::string margins_text(const SteadyGrid& grid, const Judgement& j) {
  std::string text = error_text(j);
  if (!std::isfinite(j.lean_margin)) return text + "; " + finding_text(grid, j);
  text += j.lean_margin >= 0 ? fmt::format("; margin to the lean limit {} {}", lean_margin_text(j),
                                           place_text(grid, j.lean_at))
                             : fmt::format("; BEYOND the lean limit by {} {}", margin_text(-j.lean_margin),
                                           place_text(grid, j.lean_at));
  text += j.rich_margin >= 0 ? fmt::format("; margin to the rich limit {:.2f}", j.rich_margin)
                             : fmt::format("; beyond the rich limit by {:.2f} {}: plugs may foul",
                                           -j.rich_margin, place_text(grid, j.rich_at));
  if (j.misfiring > 0)
    text +=
        fmt::format("; misfires at {} under load", counted(static_cast<std::size_t>(j.misfiring), "point"));
  if (j.odds.known())
    text +=
        fmt::format("; probability of being beyond the lean limit {}", probability_text(j.odds.probability));
  return text;
}

/// Where a marked setting runs leaner, with the caution that belongs to it; nothing for others.
std::string leaner_text(const SearchOutcome& out, const Candidate& c) {
  if (!runs_leaner(out, c)) return "";
  const LeanerThanFitted leaner = leaner_than_fitted(out, c);
  if (leaner.points == 0)
    return fmt::format(
        "    CAUTION: a change to the lean side, though lambda rises at none of the {} judged.\n",
        counted(static_cast<std::size_t>(leaner.judged), "point"));
  return fmt::format(
      "    CAUTION: leaner than fitted at {} of {} judged, by up to {:.3f} in lambda {}. Read the caution "
      "above "
      "first.\n",
      leaner.points, counted(static_cast<std::size_t>(leaner.judged), "point"), leaner.most,
      place_text(out.grid, leaner.at));
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
      {prefix + "misfiring", "1", "points under load that misfire", {axis}, {}},
      {prefix + "probability_lean", "1", "of being beyond the lean limit at one point or more", {axis}, {}},
      {prefix + "lean_margin_low", "1", "lower end of the 95 % range of lean_margin", {axis}, {}},
      {prefix + "lean_margin_high", "1", "upper end of it", {axis}, {}},
      {prefix + "expected_error", "1", "mean of error over the bikes drawn", {axis}, {}},
      {prefix + "leaner_points", "1", "points judged that run leaner than fitted", {axis}, {}}};
  std::vector<ResultText> sizes;
  for (const auto& a : out.adjusters) sizes.push_back({prefix + "size_" + a.id, a.name, axis, {}});
  for (std::size_t k = 0; k < all.size(); ++k) {
    numbers.values.push_back(static_cast<double>(k));
    words.values.push_back(change_text(out.adjusters, all[k]->values));
    figures.insert(figures.end(), all[k]->figures.begin(), all[k]->figures.end());
    const Judgement& j = all[k]->verdict;
    for (const auto& [v, value] :
         {std::pair{0, j.error}, std::pair{1, j.lean_margin}, std::pair{2, j.rich_margin},
          std::pair{3, static_cast<double>(j.misfiring)}, std::pair{4, j.odds.probability},
          std::pair{5, j.odds.margin_low}, std::pair{6, j.odds.margin_high},
          std::pair{7, j.odds.expected_error},
          std::pair{8, static_cast<double>(leaner_than_fitted(out, *all[k]).points)}})
      verdicts[static_cast<std::size_t>(v)].values.push_back(value);
    for (std::size_t a = 0; a < sizes.size(); ++a)
      sizes[a].values.push_back(out.adjusters[a].text(all[k]->values[a]));
  }
  for (auto& text : sizes) file.texts.push_back(std::move(text));
  file.axes.push_back(std::move(numbers));
  file.texts.push_back(std::move(words));
  for (auto& v : verdicts) file.variables.push_back(std::move(v));
  add_maps(file, figures, axis, prefix);
}

/// Errors and margins of each setting, then its sizes.
std::string outcome_table(const SearchOutcome& out) {
  const bool drawn = out.uncertain != nullptr;
  std::string text =
      drawn ? "\nMean lambda error, margins to the limits for the sizes as given, points judged that run "
              "leaner "
              "than\nfitted, and the probability of being beyond the lean limit by how well the sizes are "
              "known\n"
            : "\nMean lambda error, margins to the limits, and points judged that run leaner than fitted;\n"
              "unmeasured sizes can move a margin by 0.1 and more\n";
  text += "(- not known)\n              error  margin   margin   leaner";
  text += drawn ? "    beyond\n" : "\n";
  text += "  setting         %    lean     rich   points";
  text += drawn ? "      lean\n" : "\n";
  const auto margin = [](double value, bool starved, int digits = 3) {
    return starved ? "no fuel" : number_text(value, digits);
  };
  std::vector<std::pair<std::string, const Candidate*>> rows{{"as fitted", &out.fitted}};
  for (std::size_t k = 0; k < out.best.size(); ++k)
    rows.emplace_back(fmt::format("best {}", k + 1), &out.best[k]);
  for (const auto& [name, c] : rows) {
    const Judgement& j = c->verdict;
    const LeanerThanFitted leaner = leaner_than_fitted(out, *c);
    text += fmt::format("  {:<10} {:>6} {:>7}  {:>7}  {:>7}", name, number_text(j.error * 100, 2),
                        margin(j.lean_margin, j.lean_margin == -INFINITY, margin_digits(j)),
                        margin(j.rich_margin, std::isfinite(j.rich_margin) && no_fuel(j.rich_margin)),
                        c == &out.fitted ? "-" : fmt::format("{} of {}", leaner.points, leaner.judged));
    if (drawn) text += fmt::format("  {:>8}", j.odds.known() ? probability_text(j.odds.probability) : "-");
    text += "\n";
  }
  text += "\nSizes (LEANER: to the lean side of what is fitted)\n  ";
  text += fmt::format("{:<14}", "");
  for (const auto& row : rows) text += fmt::format("{:>19}", row.first);
  text += "\n";
  for (std::size_t a = 0; a < out.adjusters.size(); ++a) {
    text += fmt::format("  {:<14}", out.adjusters[a].name);
    for (const auto& row : rows)
      text += fmt::format("{:>19}", out.adjusters[a].text(row.second->values[a]) +
                                        (out.adjusters[a].leaner(row.second->values[a]) ? " LEANER" : ""));
    text += "\n";
  }
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

ResolvedCase changed(const ResolvedCase& resolved, const StudyRequest& request) {
  return read_case_text(resolved.text, resolved.name, request.change);
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
    text += fmt::format("{}{} {} to {} ({})", text.empty() ? "" : "; ", a.name, a.text(a.fitted),
                        a.text(values[k]), a.leaner(values[k]) ? "leaner" : "richer");
  }
  return text.empty() ? "as fitted" : text;
}

bool goes_leaner(const std::vector<Adjuster>& adjusters, const std::vector<double>& values) {
  for (std::size_t k = 0; k < adjusters.size(); ++k)
    if (adjusters[k].leaner(values[k])) return true;
  return false;
}

LeanerThanFitted leaner_than_fitted(const SearchOutcome& out, const Candidate& candidate) {
  constexpr double least = 1e-3;  // [-] of lambda, its last place printed
  const auto is_judged = [](const SteadyFigures& f) { return pulls(f) && !lugging(f); };
  LeanerThanFitted found;
  for (std::size_t i = 0; i < candidate.figures.size(); ++i) {
    const SteadyFigures &fitted = out.fitted.figures[i], &now = candidate.figures[i];
    if (!is_judged(fitted) && !is_judged(now)) continue;
    ++found.judged;
    const double more =
        std::min(leanest_of(now), no_fuel_lambda) - std::min(leanest_of(fitted), no_fuel_lambda);
    if (!(more > least)) continue;
    ++found.points;
    if (more > found.most) {
      found.most = more;
      found.at = i;
    }
  }
  return found;
}

bool runs_leaner(const SearchOutcome& out, const Candidate& candidate) {
  return goes_leaner(out.adjusters, candidate.values) || leaner_than_fitted(out, candidate).points > 0;
}

const Candidate& advised(const SearchOutcome& out) {
  if (out.best.empty() || out.too_likely) return out.fitted;
  const Judgement &fitted = out.fitted.verdict, &first = out.best.front().verdict;
  return fitted.acceptable() && fitted.error - first.error < search_rounding ? out.fitted : out.best.front();
}

bool found_inside(const SearchOutcome& out) {
  return advised(out).verdict.acceptable();
}

std::string knock_warning(const ResolvedCase& before, const ResolvedCase& after) {
  const auto &old = before.bike.engine.crank, &now = after.bike.engine.crank;
  constexpr double more = 1.0 + 1e-9;
  std::string what;
  if (now.compression_ratio > more * old.compression_ratio)
    what = fmt::format("compression ratio {:.3g} to {:.3g}", old.compression_ratio, now.compression_ratio);
  if (now.bore > more * old.bore)
    what +=
        fmt::format("{}bore {:.4g} to {:.4g} mm", what.empty() ? "" : ", ", old.bore * 1e3, now.bore * 1e3);
  if (what.empty()) return "";
  return fmt::format(
      "KNOCK IS NOT MODELLED: the change ({}) makes knock more likely, and knock holes pistons whatever the "
      "jets. Check ignition timing and fuel octane with the workshop manual before the engine runs under "
      "load.\n",
      what);
}

std::string caution_text(const SearchOutcome& out) {
  std::string text;
  for (std::size_t k = 0; k < out.descent.size(); ++k) {
    if (!runs_leaner(out, out.best[k])) continue;
    if (text.empty())
      text = fmt::format(
          "THE WAY DOWN FIRST: what suits {:.0f} m is too lean at sea level, where the air is denser.\n",
          *std::min_element(out.grid.altitudes.begin(), out.grid.altitudes.end()));
    const double margin = out.descent[k].lean_margin;
    switch (out.descent[k].finding()) {
      case Finding::beyond_lean:
      case Finding::near_lean:
        if (!std::isfinite(margin)) {
          text += fmt::format("Best {} at sea level: almost no fuel. DANGEROUS.\n", k + 1);
          break;
        }
        text += fmt::format("Best {} at sea level: {} {} the lean limit. DANGEROUS.\n", k + 1,
                            margin_text(std::abs(margin)), margin < 0.0 ? "BEYOND" : "from");
        break;
      case Finding::misfires:
        text += fmt::format("Best {} at sea level: misfires. DANGEROUS.\n", k + 1);
        break;
      case Finding::not_known:
      case Finding::not_judged:
        text += fmt::format("Best {} at sea level: not known. DANGEROUS to try.\n", k + 1);
        break;
      case Finding::beyond_rich:
      case Finding::inside:
        text += fmt::format("Best {} at sea level: {} from the lean limit.\n", k + 1, margin_text(margin));
    }
  }
  if (!text.empty()) text += "Change back before the descent.\n";
  text += leaner_caution + leaner_than_fitted_text(out.adjusters);
  if (out.best.empty()) return text;
  const auto marked = std::count_if(out.best.begin(), out.best.end(),
                                    [&](const Candidate& c) { return runs_leaner(out, c); });
  return text +
         (marked > 0
              ? "Settings below that run leaner than fitted are marked LEANER: what is printed here is "
                "no reason to fit them.\n"
              : "No setting below runs leaner than fitted at a point examined.\n");
}

std::string outcome_text(const SearchOutcome& out) {
  const Judgement& fitted = out.fitted.verdict;
  if (fitted.judged == 0)
    return lugging_text(fitted) +
           "Nothing is judged, and nothing recommended: at none of these points does the engine pull at a "
           "speed at which it can be run. Give others with --speeds and --openings.\n";
  std::string text = targets_text(out.targets);
  text += fmt::format("As fitted: {}.\n", margins_text(out.grid, fitted));
  text += lugging_text(fitted);
  text += jumps_text(out.grid, out.fitted.figures, out.fitted.jumps);
  if (out.best.empty())
    return text +
           fmt::format(
               "Nothing is recommended: {} beyond a limit at some point under "
               "load. {} {}eave out speeds and openings that are not ridden.\n",
               out.combinations == 1 ? std::string("the one combination is")
                                     : fmt::format("each of the {} combinations is", out.combinations),
               out.closest == -INFINITY
                   ? std::string("With each, almost no fuel reaches a cylinder somewhere.")
               : out.closest < search_rounding
                   ? fmt::format(
                         "The largest margin to the lean limit found is {:+.3f}, where {:.3f} is asked "
                         "for ({}).",
                         out.closest, search_rounding, unmeasured_sizes)
                   : std::string("The lean limit is kept, but the engine misfires, or a point is not known."),
               out.closest < search_rounding ? "Try richer sizes, or l" : "L");
  const Candidate& first = out.best.front();
  const auto too_rich = [](const Candidate& c) { return c.verdict.rich_margin < 0.0; };
  const std::string limits =
      std::any_of(out.best.begin(), out.best.end(), too_rich) ? "lean limit" : "limits";
  const double gain = out.fitted.verdict.error - first.verdict.error;
  if (out.too_likely)
    text += fmt::format(
        "Nothing is recommended: with each combination inside the limits, the probability of being beyond "
        "the lean "
        "limit somewhere is above {}, as the sizes are not known well enough (see what matters, below). "
        "Measure "
        "those first, or try richer sizes. The least likely to be beyond it:\n",
        probability_text(out.best.front().verdict.odds.allowed));
  else if (change_text(out.adjusters, advised(out).values) == "as fitted")
    text += gain > 0.0
                ? fmt::format(
                      "Leave it as it is: the best found is {:.1f} % closer to the target, no significant "
                      "difference (the search rounds to {:.1f} %).\n",
                      gain * 100, search_rounding * 100)
                : std::string("Leave it as it is: no other setting found inside the " + limits +
                              " is closer to the target.\n");
  if (!out.too_likely && !fitted.no_danger() && gain < 0.0)
    text += "The fitted jets are closer to the target but beyond a limit. Best settings inside the " +
            limits + ":\n";
  for (std::size_t k = 0; k < out.best.size(); ++k) {
    const Candidate& c = out.best[k];
    text += fmt::format("Best {}{}{}: {}.\n{}    {}.\n", k + 1, runs_leaner(out, c) ? ", LEANER" : "",
                        too_rich(c) ? ", beyond the rich limit" : "", change_text(out.adjusters, c.values),
                        leaner_text(out, c), margins_text(out.grid, c.verdict));
    std::istringstream findings(jump_findings(out.grid, c.figures, c.jumps));
    for (std::string line; std::getline(findings, line);) text += fmt::format("    With it: {}\n", line);
    if (k > 0 && c.verdict.error - first.verdict.error < search_rounding)
      text += "    No significant difference from the first.\n";
  }
  if (out.rejected > 0)
    text += fmt::format(
        "Rejected: {}, estimated or computed to misfire under load or to be less than {:.3f} "
        "inside the lean limit{}.\n",
        counted(out.rejected, "combination"), search_rounding,
        first.verdict.odds.known() ? fmt::format(", or beyond it with a probability above {}",
                                                 probability_text(first.verdict.odds.allowed))
                                   : "");
  const std::size_t places = out.grid.size();
  text += fmt::format("How it was searched: {} estimated first. The {} most promising {} ",
                      out.combinations == 1 ? std::string("the one combination was")
                                            : fmt::format("all {} combinations were", out.combinations),
                      out.checked, out.checked == 1 ? "was" : "were");
  text += out.sampled < places
              ? fmt::format("then computed at {} of the {}, and the best {} of these at all points. ",
                            out.sampled, counted(places, "operating point"), out.whole)
              : fmt::format("then computed at {}{}. ", places == 1 ? "the " : "all ",
                            counted(places, "operating point"));
  if (std::isfinite(out.surprise))
    text += fmt::format("Estimated and computed mean lambda error differed by at most {:.1f} %.\n",
                        out.surprise * 100);
  return text;
}

StudyResult run_jets(const ResolvedCase& resolved, const StudyRequest& request, PointScheduler& scheduler) {
  const SearchOutcome before = search_jets(resolved, request, scheduler);
  if (request.change.empty()) return tell_jets(resolved, request, before, nullptr);
  const SearchOutcome after = search_jets(changed(resolved, request), request, scheduler);
  return tell_jets(resolved, request, before, &after);
}

StudyResult tell_jets(const ResolvedCase& resolved, const StudyRequest& request, const SearchOutcome& before,
                      const SearchOutcome* after) {
  StudyResult result;
  result.file = new_result(resolved, request);
  add_grid_axes(result.file, before.grid);
  add_outcome(before, "", result.file);
  result.verdict = verdict_text(before.grid, before.fitted.verdict, "as fitted");
  result.caution = ride_warning(before.grid, before.fitted.verdict, "it as fitted") + caution_text(before);
  result.answer = outcome_text(before);
  result.table = outcome_table(before);
  add_charts(before, "", "", result);
  if (before.uncertain) {
    add_contributions(result.file, *before.uncertain);
    result.answer += sure_text(*before.uncertain);
    result.table += what_matters_text(*before.uncertain);
    result.charts.push_back(band_chart(before.grid, before.fitted.figures, *before.uncertain, 0,
                                       "band_fitted", "Lambda as fitted with its 95 % band"));
    if (!before.best.empty())
      result.charts.push_back(band_chart(before.grid, before.best.front().figures, *before.uncertain, 0,
                                         "band_best1", "Lambda of best 1 with its 95 % band"));
  }
  if (after == nullptr) return result;

  add_outcome(*after, "after_", result.file);
  const SteadyFigures top = most_power(before.fitted), top_after = most_power(after->fitted);
  result.verdict = verdict_text(after->grid, after->fitted.verdict, "changed engine with the old jets") +
                   verdict_text(before.grid, before.fitted.verdict, "before the change");
  result.caution = ride_warning(after->grid, after->fitted.verdict, "the changed engine with the old jets") +
                   knock_warning(resolved, changed(resolved, request)) + caution_text(*after);
  result.answer = "Before the change of the engine\n" + result.answer + "\nAfter it\n" +
                  fmt::format("Most power with the jets as fitted: {} kW, before {} kW.\n",
                              number_text(top_after.power * 1e-3, 1), number_text(top.power * 1e-3, 1)) +
                  outcome_text(*after);
  result.table += "\nAfter the change" + outcome_table(*after);
  add_charts(*after, "after_", " after the change", result);
  return result;
}

}  // namespace glassbowl::sim
