#include "sim/studies/jet_search.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "sim/api/error.hpp"

namespace glassbowl::sim {
namespace {

constexpr std::size_t most_combinations = 5000;
constexpr std::size_t wanted = 3;          // combinations to present
constexpr std::size_t batch = 4;           // exact runs at a time
constexpr std::size_t most_checked = 12;   // exact runs on the coarse grid
constexpr std::size_t most_whole = 4;      // exact runs over the whole grid
constexpr std::size_t coarse_enough = 24;  // places that need no thinning
constexpr int most_more = 4;               // richer steps added where nothing safe was found
constexpr double doubt = 0.03;             // [-] lambda: foretold to pass a limit by more is not run at all

/// Every third of a long list, both ends kept as far as they matter: index 1, 4, 7, ... and the last.
std::vector<std::size_t> thinned(std::size_t count, std::size_t stride) {
  std::vector<std::size_t> out;
  for (std::size_t i = count > stride ? 1 : 0; i<count; i += count> stride ? stride : 1) out.push_back(i);
  if (out.empty() || out.back() != count - 1) out.push_back(count - 1);
  return out;
}

/// A coarse grid and, for each of its points, the point of the whole one.
struct Coarse {
  SteadyGrid grid;
  std::vector<std::size_t> whole;
};

Coarse coarse_of(const SteadyGrid& grid) {
  const bool small = grid.speeds.size() * grid.openings.size() <= coarse_enough;
  const auto speeds = thinned(grid.speeds.size(), small ? grid.speeds.size() : 3);
  const auto openings = thinned(grid.openings.size(), small ? grid.openings.size() : 2);
  Coarse out{{grid.altitudes, grid.warmer, {}, {}}, {}};
  for (const auto s : speeds) out.grid.speeds.push_back(grid.speeds[s]);
  for (const auto o : openings) out.grid.openings.push_back(grid.openings[o]);
  for (std::size_t a = 0; a < grid.altitudes.size(); ++a)
    for (std::size_t w = 0; w < grid.warmer.size(); ++w)
      for (const auto s : speeds)
        for (const auto o : openings) out.whole.push_back(grid.index(a, w, s, o));
  return out;
}

std::vector<double> around(const Adjuster& a, int down, int up) {
  std::vector<double> out;
  for (int k = -down; k <= up; ++k) out.push_back(a.moved(a.fitted, k));
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

/// Foretells maps of combinations from maps of single sizes.
class Forecast {
 public:
  Forecast(std::vector<SteadyFigures> fitted, std::size_t adjusters)
      : fitted_(std::move(fitted)), single_(adjusters) {}
  void learn(std::size_t adjuster, std::vector<SteadyFigures> figures) {
    single_[adjuster].push_back(std::move(figures));
  }
  std::vector<SteadyFigures> of(const std::vector<std::size_t>& choice) const {
    std::vector<SteadyFigures> out = fitted_;
    for (std::size_t i = 0; i < out.size(); ++i) {
      shift(choice, i, &SteadyFigures::trapped, out[i]);
      shift(choice, i, &SteadyFigures::leanest, out[i]);
      shift(choice, i, &SteadyFigures::richest, out[i]);
    }
    return out;
  }

 private:
  /// Fuel per air adds up by circuit; lambda is its inverse.
  void shift(const std::vector<std::size_t>& choice, std::size_t i, double SteadyFigures::*value,
             SteadyFigures& out) const {
    const double base = 1.0 / (fitted_[i].*value);
    double sum = base;
    for (std::size_t k = 0; k < choice.size(); ++k)
      if (const auto& f = single_[k][choice[k]][i]; f.usable()) sum += 1.0 / (f.*value) - base;
    out.*value = 1.0 / std::max(sum, 0.05);
  }

  std::vector<SteadyFigures> fitted_;
  std::vector<std::vector<std::vector<SteadyFigures>>> single_;
};

struct Entry {
  std::vector<std::size_t> choice;
  Judgement foretold, run;
  bool checked = false;
};

/// Safe ones first, then the smaller error.
bool better(const Judgement& a, const Judgement& b) {
  return a.safe() != b.safe() ? a.safe() : a.error < b.error;
}

/// `more` richer steps are added to the usual lists.
void choose_sizes(const ResolvedCase& resolved, const StudyRequest& request, int more, SearchOutcome& out) {
  const auto all = adjusters_of(resolved);
  if (!request.tries.empty()) {
    for (const auto& a : all)
      if (const auto given = request.tries.find(a.id);
          given != request.tries.end() && !given->second.empty()) {
        out.adjusters.push_back(a);
        out.sizes.push_back(given->second);
      }
    return;
  }
  const bool piston = resolved.bike.carburetor.kind == CarburetorKind::constant_depression;
  for (const auto& [id, reach] :
       {std::pair{"main_jet", 2}, std::pair{"slow_jet", 2}, std::pair{piston ? "needle_raised" : "screw", 1},
        std::pair{piston ? "slow_air_jet" : "main_air_jet", 1}}) {
    out.adjusters.push_back(find_adjuster(all, id));
    const Adjuster& a = out.adjusters.back();
    out.sizes.push_back(
        around(a, reach + (a.larger_is_richer ? 0 : more), reach + (a.larger_is_richer ? more : 0)));
  }
}

std::vector<double> values_of(const SearchOutcome& out, const std::vector<std::size_t>& choice) {
  std::vector<double> values;
  for (std::size_t k = 0; k < choice.size(); ++k) values.push_back(out.sizes[k][choice[k]]);
  return values;
}

std::vector<SteadyFigures> part_of(const std::vector<SteadyFigures>& all, std::size_t which,
                                   std::size_t size) {
  const auto first = all.begin() + static_cast<std::ptrdiff_t>(which * size);
  return {first, first + static_cast<std::ptrdiff_t>(size)};
}

std::vector<Entry> all_entries(const SearchOutcome& out, const Forecast& forecast, const SteadyGrid& grid,
                               const std::map<std::string, double>& targets) {
  std::vector<Entry> entries;
  for (std::size_t n = 0; n < out.combinations; ++n) {
    Entry e;
    std::size_t rest = n;
    for (const auto& sizes : out.sizes) {
      e.choice.push_back(rest % sizes.size());
      rest /= sizes.size();
    }
    e.foretold = judge(grid, forecast.of(e.choice), targets);
    entries.push_back(std::move(e));
  }
  return entries;
}

/// Steps 3: exact runs on the coarse grid of what promises most.
void check_best(const ResolvedCase& resolved, const StudyRequest& request, const Coarse& coarse,
                const std::map<std::string, double>& targets, PointRunner& runner,
                std::vector<Entry>& entries, SearchOutcome& out) {
  while (out.checked < most_checked) {
    std::vector<Entry*> open;
    for (auto& e : entries)
      if (!e.checked && e.foretold.lean_margin > -doubt) open.push_back(&e);
    std::stable_sort(open.begin(), open.end(),
                     [](const Entry* a, const Entry* b) { return a->foretold.error < b->foretold.error; });
    std::vector<double> found;
    for (const auto& e : entries)
      if (e.checked && e.run.safe()) found.push_back(e.run.error);
    std::sort(found.begin(), found.end());
    if (open.empty()) return;
    if (found.size() >= wanted && open.front()->foretold.error - out.surprise > found[wanted - 1]) return;
    open.resize(std::min({open.size(), batch, most_checked - out.checked}));
    std::vector<PointTask> tasks;
    for (const auto* e : open)
      for (auto& t : map_tasks(resolved.text, settings_of(out.adjusters, values_of(out, e->choice)),
                               coarse.grid, request.accuracy))
        tasks.push_back(std::move(t));
    const auto figures = run_steady(runner, tasks);
    for (std::size_t k = 0; k < open.size(); ++k) {
      Entry& e = *open[k];
      e.run = judge(coarse.grid, part_of(figures, k, coarse.grid.size()), targets);
      e.checked = true;
      ++out.checked;
      out.surprise = std::max(out.surprise, std::abs(e.run.error - e.foretold.error));
    }
  }
}

/// Step 4: the whole grid for the best that were checked.
void run_whole(const ResolvedCase& resolved, const StudyRequest& request,
               const std::map<std::string, double>& targets, PointRunner& runner,
               const std::vector<Entry>& entries, SearchOutcome& out) {
  std::vector<const Entry*> order;
  for (const auto& e : entries)
    if (e.checked && e.run.safe()) order.push_back(&e);
  std::stable_sort(order.begin(), order.end(),
                   [](const Entry* a, const Entry* b) { return better(a->run, b->run); });
  double closest = -INFINITY;
  for (const auto& e : entries)
    closest = std::max(closest, e.checked ? e.run.lean_margin : e.foretold.lean_margin);
  for (std::size_t k = 0; k < std::min(order.size(), most_whole) && out.best.size() < wanted; ++k) {
    Candidate c{values_of(out, order[k]->choice), {}, {}};
    c.figures = run_steady(
        runner, map_tasks(resolved.text, settings_of(out.adjusters, c.values), out.grid, request.accuracy));
    c.verdict = judge(out.grid, c.figures, targets);
    closest = k == 0 ? c.verdict.lean_margin : std::max(closest, c.verdict.lean_margin);  // counts more
    if (c.verdict.safe()) out.best.push_back(std::move(c));
  }
  std::stable_sort(out.best.begin(), out.best.end(),
                   [](const Candidate& a, const Candidate& b) { return better(a.verdict, b.verdict); });
  if (out.best.empty())
    out.nothing_reason = fmt::format(
        "none of the {} combinations stays inside the lean limit and lights every charge at all points under "
        "load; the "
        "nearest comes to {:+.3f} of the lean limit where {:.3f} is asked for. Try richer sizes, or leave "
        "out speeds and openings that "
        "are not ridden",
        out.combinations, closest, model_accuracy);
}

std::string verdict_text(const SteadyGrid& grid, const Judgement& j) {
  std::string text = fmt::format("off the target by {:.1f} % on average", j.error * 100);
  text +=
      j.lean_margin >= 0
          ? fmt::format("; {:.2f} from the lean limit ({})", j.lean_margin, place_text(grid, j.lean_at))
          : fmt::format("; {:.2f} BEYOND the lean limit ({})", -j.lean_margin, place_text(grid, j.lean_at));
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

}  // namespace

Sets settings_of(const std::vector<Adjuster>& adjusters, const std::vector<double>& values) {
  Sets out;
  for (std::size_t k = 0; k < adjusters.size(); ++k)
    out = joined(std::move(out), adjusters[k].setting(values[k]));
  return out;
}

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

namespace {

SearchOutcome search_once(const ResolvedCase& resolved, const StudyRequest& request, int more,
                          PointRunner& runner) {
  SearchOutcome out;
  out.grid = grid_of(resolved, request);
  choose_sizes(resolved, request, more, out);
  out.combinations = 1;
  std::size_t sizes = 0;
  for (const auto& s : out.sizes) {
    out.combinations *= s.size();
    sizes += s.size();
    if (out.combinations > most_combinations)
      throw Error(
          ErrorKind::input,
          fmt::format("these sizes make more than {} combinations; try fewer at a time", most_combinations));
  }
  auto targets = usual_targets();
  for (const auto& [region, lambda] : request.targets) targets[region] = lambda;
  const Coarse coarse = coarse_of(out.grid);
  runner.expect(out.grid.size() * (1 + wanted) + coarse.grid.size() * (sizes - out.sizes.size() + 2 * batch));

  for (const auto& a : out.adjusters) out.fitted.values.push_back(a.fitted);
  out.fitted.figures = run_steady(runner, map_tasks(resolved.text, {}, out.grid, request.accuracy));
  out.fitted.verdict = judge(out.grid, out.fitted.figures, targets);
  std::vector<SteadyFigures> fitted_coarse;
  for (const auto i : coarse.whole) fitted_coarse.push_back(out.fitted.figures[i]);

  std::vector<PointTask> tasks;
  for (std::size_t k = 0; k < out.adjusters.size(); ++k)
    for (const double value : out.sizes[k])
      for (auto& t : map_tasks(resolved.text, out.adjusters[k].setting(value), coarse.grid, request.accuracy))
        tasks.push_back(std::move(t));
  const auto singles = run_steady(runner, tasks);
  Forecast forecast(fitted_coarse, out.adjusters.size());
  std::size_t next = 0;
  for (std::size_t k = 0; k < out.adjusters.size(); ++k)
    for (std::size_t v = 0; v < out.sizes[k].size(); ++v)
      forecast.learn(k, part_of(singles, next++, coarse.grid.size()));

  std::vector<Entry> entries = all_entries(out, forecast, coarse.grid, targets);
  check_best(resolved, request, coarse, targets, runner, entries, out);
  run_whole(resolved, request, targets, runner, entries, out);
  return out;
}

}  // namespace

SearchOutcome search_jets(const ResolvedCase& resolved, const StudyRequest& request, PointRunner& runner) {
  SearchOutcome out = search_once(resolved, request, 0, runner);
  for (int more = 2; request.tries.empty() && out.best.empty() && more <= most_more; more += 2)
    out = search_once(resolved, request, more, runner);
  return out;
}

std::string outcome_text(const SearchOutcome& out) {
  std::string text = fmt::format("As fitted: {}.\n", verdict_text(out.grid, out.fitted.verdict));
  if (out.best.empty()) return text + "Nothing is recommended: " + out.nothing_reason + ".\n";
  const Candidate& first = out.best.front();
  const double gain = out.fitted.verdict.error - first.verdict.error;
  if (change_text(out.adjusters, first.values) == "as fitted" ||
      (out.fitted.verdict.safe() && gain < model_accuracy))
    text += fmt::format(
        "Leave it as it is: the best found is {:.1f} % nearer to the target, less than the model can tell "
        "({:.1f} %).\n",
        std::max(0.0, gain) * 100, model_accuracy * 100);
  for (std::size_t k = 0; k < out.best.size(); ++k) {
    const Candidate& c = out.best[k];
    const bool equal = k > 0 && c.verdict.error - first.verdict.error < model_accuracy;
    text += fmt::format("{} {}: {}.\n    {}.\n",
                        goes_leaner(out.adjusters, c.values) ? "(leaner, mind the caution) Best" : "Best",
                        k + 1, change_text(out.adjusters, c.values), verdict_text(out.grid, c.verdict));
    if (equal) text += "    Equal to the first as far as the model can tell.\n";
  }
  text += fmt::format(
      "{} combinations; {} run exactly on the coarse grid, {} over the whole one. What was foretold of them "
      "differed "
      "from what was run by at most {:.1f} %.\n",
      out.combinations, out.checked, out.best.size() + 1, out.surprise * 100);
  return text;
}

StudyResult run_jets(const ResolvedCase& resolved, const StudyRequest& request, PointRunner& runner) {
  StudyResult result;
  result.file = new_result(resolved, request);
  const SearchOutcome before = search_jets(resolved, request, runner);
  add_grid_axes(result.file, before.grid);
  add_outcome(before, "", result.file);
  result.caution = leaner_caution;
  result.answer = outcome_text(before);
  result.table = outcome_table(before);
  add_charts(before, "", "", result);
  if (request.change.empty()) return result;

  const SearchOutcome after =
      search_jets(read_case_text(resolved.text, resolved.name, request.change), request, runner);
  add_outcome(after, "after_", result.file);
  result.answer =
      "Before the change of the engine\n" + result.answer + "\nAfter it\n" +
      (after.fitted.verdict.safe()
           ? ""
           : "DO NOT RIDE the changed engine with the old jets: they pass the lean limit or misfire.\n") +
      outcome_text(after);
  result.table += "\nAfter the change" + outcome_table(after);
  add_charts(after, "after_", " after the change", result);
  return result;
}

}  // namespace glassbowl::sim
