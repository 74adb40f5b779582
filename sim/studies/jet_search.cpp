#include "sim/studies/jet_search.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "sim/api/error.hpp"
#include "sim/studies/jet_forecast.hpp"

namespace glassbowl::sim {
namespace {

constexpr std::size_t most_combinations = 5000;
constexpr std::size_t wanted = 3;               // combinations to present
constexpr std::size_t batch = 4;                // exact runs at a time
constexpr std::size_t most_checked = 12;        // exact runs on the sample
constexpr std::size_t most_whole = 5;           // exact runs over the whole grid
constexpr std::size_t coarse_enough = 24;       // places that need no thinning
constexpr std::size_t tightest = 10;            // places added to the sample because they are lean
constexpr int more_at_once = 2, most_more = 4;  // richer steps added where nothing is inside the limits
constexpr double doubt = 0.045;  // [-] lambda by which a margin foretold is mistrusted before any is run,
constexpr double least_doubt = 0.005;  // [-] and at least for good
constexpr double high_up = 300.0;      // [m] from which on a leaner jet is judged at sea level, too

/// Every so many of a long list, both ends kept as far as they matter: index 1, 4, 7, ... and the last.
std::vector<std::size_t> thinned(std::size_t count, std::size_t stride) {
  std::vector<std::size_t> out;
  for (std::size_t i = count > stride ? 1 : 0; i<count; i += count> stride ? stride : 1) out.push_back(i);
  if (out.empty() || out.back() != count - 1) out.push_back(count - 1);
  return out;
}

/// Points of the grid on which combinations are compared: all of a small one, else a coarse grid and those
/// where the fitted setting is nearest to the lean limit or beyond it. What is not judged is left out, unless
/// nothing is left.
std::vector<std::size_t> sample_of(const SteadyGrid& grid, const std::vector<SteadyFigures>& fitted) {
  const bool small = grid.speeds.size() * grid.openings.size() <= coarse_enough;
  std::set<std::size_t> out;
  for (std::size_t a = 0; a < grid.altitudes.size(); ++a)
    for (std::size_t w = 0; w < grid.warmer.size(); ++w)
      for (const auto s : thinned(grid.speeds.size(), small ? grid.speeds.size() : 3))
        for (const auto o : thinned(grid.openings.size(), small ? grid.openings.size() : 2))
          out.insert(grid.index(a, w, s, o));
  std::vector<std::size_t> rest;
  const auto judged = [&](std::size_t i) { return pulls(fitted[i]) && !lugging(fitted[i]); };
  if (std::any_of(out.begin(), out.end(), judged))
    std::erase_if(out, [&](std::size_t i) { return !judged(i); });
  for (std::size_t i = 0; i < fitted.size(); ++i)
    if (judged(i) && !out.contains(i)) rest.push_back(i);
  std::stable_sort(rest.begin(), rest.end(), [&](std::size_t a, std::size_t b) {
    return lean_limit_under_load(fitted[a].filling) - leanest_of(fitted[a]) <
           lean_limit_under_load(fitted[b].filling) - leanest_of(fitted[b]);
  });
  rest.resize(std::min(rest.size(), tightest));
  out.insert(rest.begin(), rest.end());
  return {out.begin(), out.end()};
}

std::vector<double> around(const Adjuster& a, int down, int up) {
  std::vector<double> out;
  for (int k = -down; k <= up; ++k) out.push_back(a.moved(a.fitted, k));
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

struct Entry {
  std::vector<double> values;
  Judgement foretold, run;
  bool checked = false;
};

/// [-] The mean error that is to be expected, where drawn bikes say so.
double error_of(const Judgement& j) {
  return j.odds.known() ? j.odds.expected_error : j.error;
}

/// Those without danger first, of these those that are seldom enough beyond the lean limit, then the smaller
/// error; among those too often beyond it, the less often the better.
bool better(const Judgement& a, const Judgement& b) {
  if (a.no_danger() != b.no_danger()) return a.no_danger();
  if (a.odds.too_likely() != b.odds.too_likely()) return !a.odds.too_likely();
  return a.odds.too_likely() ? a.odds.probability < b.odds.probability : error_of(a) < error_of(b);
}

/// Places at which bikes are drawn: half of them where the fitted setting is nearest to the lean limit or
/// beyond it, the others as far as can be from all before.
std::vector<std::size_t> deciding(const std::vector<Place>& places,
                                  const std::vector<SteadyFigures>& figures) {
  constexpr std::size_t most = 10;
  std::vector<std::size_t> order(places.size()), out;
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  const auto margin = [&](std::size_t i) {
    const auto& f = figures[i];
    return pulls(f) && !lugging(f) ? lean_limit_under_load(f.filling) - f.leanest : INFINITY;
  };
  std::stable_sort(order.begin(), order.end(), [&](auto a, auto b) { return margin(a) < margin(b); });
  const auto apart = [&](std::size_t a, std::size_t b) {
    const Place &p = places[a], &q = places[b];
    return std::abs(std::log((p.opening + 0.02) / (q.opening + 0.02))) +
           std::abs(std::log(p.speed / q.speed)) + std::abs(p.altitude - q.altitude) / 3000.0 +
           std::abs(p.warmer - q.warmer) / 60.0;
  };
  out.assign(order.begin(), order.begin() + static_cast<std::ptrdiff_t>(std::min(order.size(), most / 2)));
  while (out.size() < std::min(order.size(), most)) {
    std::size_t best = order.size();
    double farthest = -1.0;
    for (const std::size_t i : order) {
      if (!figures[i].usable()) continue;
      double nearest = INFINITY;
      for (const std::size_t k : out) nearest = std::min(nearest, apart(i, k));
      if (nearest > farthest) farthest = nearest, best = i;
    }
    if (best == order.size() || !(farthest > 0.0)) break;
    out.push_back(best);
  }
  std::sort(out.begin(), out.end());
  return out;
}

std::vector<SteadyFigures> part_of(const std::vector<SteadyFigures>& all, std::size_t which,
                                   std::size_t size) {
  const auto first = all.begin() + static_cast<std::ptrdiff_t>(which * size);
  return {first, first + static_cast<std::ptrdiff_t>(size)};
}

class JetSearch {
 public:
  JetSearch(const ResolvedCase& resolved, const StudyRequest& request, PointScheduler& scheduler)
      : resolved_(resolved), request_(request), scheduler_(scheduler), targets_(usual_targets()) {
    for (const auto& [region, lambda] : request.targets) targets_[region] = lambda;
    out_.targets = targets_;
    out_.grid = grid_of(resolved, request);
  }

  SearchOutcome run() {
    choose_sizes(0);
    run_fitted();
    for (int more = 0;; more += more_at_once) {
      choose_sizes(more);
      learn_sizes();
      foretell_all();
      const bool last = !request_.tries.empty() || more >= most_more;
      const bool hopeful = std::any_of(entries_.begin(), entries_.end(),
                                       [](const Entry& e) { return e.foretold.acceptable(); });
      if (!hopeful && !last) continue;
      check_best();
      run_whole();
      if (last || (!out_.best.empty() && !out_.too_likely)) break;
      out_.best.clear();
    }
    judge_descent();
    return std::move(out_);
  }

 private:
  std::vector<PointTask> tasks(const Sets& sets, const std::vector<Place>& places) const {
    return map_tasks(resolved_.text, sets, places, request_.accuracy);
  }

  /// Marks jumps and two-valued points of a whole grid; the leaner of two values counts.
  void find_jumps(const Sets& sets, Candidate& candidate) {
    candidate.jumps =
        mark_jumps(scheduler_, resolved_.text, sets, out_.grid, request_.accuracy, candidate.figures);
  }

  /// `more` richer steps are added to the usual lists.
  void choose_sizes(int more) {
    out_.adjusters.clear();
    out_.sizes.clear();
    const auto all = adjusters_of(resolved_);
    const bool piston = resolved_.bike.carburetor.kind == CarburetorKind::constant_depression;
    if (!request_.tries.empty()) {
      for (const auto& a : all)
        if (const auto given = request_.tries.find(a.id);
            given != request_.tries.end() && !given->second.empty()) {
          out_.adjusters.push_back(a);
          out_.sizes.push_back(given->second);
        }
    } else {
      for (const auto& [id, reach] : {std::pair{"main_jet", 2}, std::pair{"slow_jet", 2},
                                      std::pair{piston ? "needle_raised" : "screw", 1},
                                      std::pair{piston ? "slow_air_jet" : "main_air_jet", 1}}) {
        const Adjuster& a = find_adjuster(all, id);
        out_.adjusters.push_back(a);
        out_.sizes.push_back(
            around(a, reach + (a.larger_is_richer ? 0 : more), reach + (a.larger_is_richer ? more : 0)));
      }
    }
    out_.combinations = 1;
    for (const auto& s : out_.sizes) {
      out_.combinations *= s.size();
      if (out_.combinations > most_combinations)
        throw Error(ErrorKind::input, fmt::format("these sizes make more than {} combinations; try fewer at "
                                                  "a time",
                                                  most_combinations));
    }
  }

  void run_fitted() {
    std::size_t sizes = 0;
    for (const auto& s : out_.sizes) sizes += s.size() - 1;
    // What is usual: two batches of checks, and the best over the whole grid.
    const std::size_t sample = std::min(out_.grid.size(), out_.grid.size() / 5 + tightest);
    scheduler_.expect(out_.grid.size() * (1 + wanted) + sample * (sizes + 2 * batch) +
                      10 * static_cast<std::size_t>(request_.bikes));
    for (const auto& a : out_.adjusters) out_.fitted.values.push_back(a.fitted);
    out_.fitted.figures = run_steady(scheduler_, tasks({}, out_.grid.places()));
    find_jumps({}, out_.fitted);
    out_.fitted.verdict = judge(out_.grid.places(), out_.fitted.figures, targets_);
    std::vector<SteadyFigures> sampled;
    for (const auto i : sample_of(out_.grid, out_.fitted.figures)) {
      sample_.push_back(out_.grid.place(i));
      sampled.push_back(out_.fitted.figures[i]);
    }
    out_.sampled = sample_.size();
    draw_bikes(sampled);
    judge_odds(out_.fitted.verdict, out_.grid.places(), out_.fitted.figures);
    forecast_ = JetForecast(std::move(sampled));
  }

  void draw_bikes(const std::vector<SteadyFigures>& sampled) {
    if (request_.bikes == 0) return;
    std::vector<Place> places;
    std::vector<SteadyFigures> figures;
    for (const std::size_t i : deciding(sample_, sampled)) {
      places.push_back(sample_[i]);
      figures.push_back(sampled[i]);
    }
    out_.uncertain = std::make_shared<const UncertainPoints>(resolved_, places, figures, request_.bikes,
                                                             request_.accuracy, scheduler_);
  }

  void judge_odds(Judgement& judgement, const std::vector<Place>& places,
                  const std::vector<SteadyFigures>& figures) const {
    if (out_.uncertain) out_.uncertain->add_odds(judgement, places, figures, targets_, request_.lean_risk);
  }

  /// A judgement with what the drawn bikes say, if there are any.
  Judgement judged(const std::vector<Place>& places, const std::vector<SteadyFigures>& figures) const {
    Judgement out = judge(places, figures, targets_);
    judge_odds(out, places, figures);
    return out;
  }

  /// Step 2: what each size does alone.
  void learn_sizes() {
    std::vector<PointTask> all;
    std::vector<std::pair<std::size_t, double>> fresh;
    for (std::size_t k = 0; k < out_.adjusters.size(); ++k)
      for (const double value : out_.sizes[k])
        if (!forecast_.knows(k, value)) {
          fresh.emplace_back(k, value);
          for (auto& t : tasks(out_.adjusters[k].setting(value), sample_)) all.push_back(std::move(t));
        }
    const auto figures = run_steady(scheduler_, all);
    for (std::size_t n = 0; n < fresh.size(); ++n)
      forecast_.learn(fresh[n].first, fresh[n].second, part_of(figures, n, sample_.size()));
  }

  /// Makes all combinations; those checked before stay so.
  void foretell_all() {
    std::vector<Entry> before;
    std::swap(before, entries_);
    std::erase_if(before, [](const Entry& e) { return !e.checked; });
    for (std::size_t n = 0; n < out_.combinations; ++n) {
      Entry e;
      std::size_t rest = n;
      for (const auto& sizes : out_.sizes) {
        e.values.push_back(sizes[rest % sizes.size()]);
        rest /= sizes.size();
      }
      const auto known =
          std::find_if(before.begin(), before.end(), [&](const Entry& b) { return b.values == e.values; });
      if (known != before.end()) {
        entries_.push_back(*known);
        continue;
      }
      e.foretold = judged(sample_, forecast_.of(e.values));
      entries_.push_back(std::move(e));
    }
  }

  /// Step 3: exact runs on the sample of what promises most.
  void check_best() {
    for (std::size_t allowed = most_checked; allowed > 0;) {
      std::vector<Entry*> open;
      const double slack = out_.checked == 0 ? doubt : std::max(least_doubt, margin_surprise_);
      for (auto& e : entries_)
        if (!e.checked && e.foretold.lean_margin + slack >= search_rounding) open.push_back(&e);
      if (open.empty()) return;
      std::stable_sort(open.begin(), open.end(),
                       [](const Entry* a, const Entry* b) { return better(a->foretold, b->foretold); });
      double promise = INFINITY;
      for (const auto* e : open)
        if (!e->foretold.odds.too_likely()) promise = std::min(promise, error_of(e->foretold));
      std::vector<double> found;
      for (const auto& e : entries_)
        if (e.checked && e.run.acceptable()) found.push_back(error_of(e.run));
      std::sort(found.begin(), found.end());
      if (found.size() >= wanted && promise - out_.surprise > found[wanted - 1]) return;
      open.resize(std::min({open.size(), batch, allowed}));
      allowed -= open.size();
      check(open);
    }
  }

  void check(const std::vector<Entry*>& open) {
    std::vector<PointTask> all;
    for (const auto* e : open)
      for (auto& t : tasks(settings_of(out_.adjusters, e->values), sample_)) all.push_back(std::move(t));
    const auto figures = run_steady(scheduler_, all);
    for (std::size_t k = 0; k < open.size(); ++k) {
      Entry& e = *open[k];
      e.run = judged(sample_, part_of(figures, k, sample_.size()));
      e.checked = true;
      ++out_.checked;
      out_.surprise = std::max(out_.surprise, std::abs(e.run.error - e.foretold.error));
      margin_surprise_ = std::max(margin_surprise_, std::abs(e.run.lean_margin - e.foretold.lean_margin));
    }
  }

  /// Step 4: the whole grid for the best that were checked.
  void run_whole() {
    std::vector<const Entry*> order;
    out_.rejected = 0;
    for (const auto& e : entries_) {
      if (e.checked && e.run.no_danger()) order.push_back(&e);
      if (!(e.checked ? e.run : e.foretold).acceptable()) ++out_.rejected;
      out_.closest = std::max(out_.closest, e.checked ? e.run.lean_margin : e.foretold.lean_margin);
    }
    std::stable_sort(order.begin(), order.end(),
                     [](const Entry* a, const Entry* b) { return better(a->run, b->run); });
    for (std::size_t k = 0; k < std::min(order.size(), most_whole) && out_.best.size() < wanted; ++k) {
      Candidate c{order[k]->values, {}, {}};
      c.figures = run_steady(scheduler_, tasks(settings_of(out_.adjusters, c.values), out_.grid.places()));
      find_jumps(settings_of(out_.adjusters, c.values), c);
      c.verdict = judged(out_.grid.places(), c.figures);
      ++out_.whole;
      out_.closest = k == 0 ? c.verdict.lean_margin : std::max(out_.closest, c.verdict.lean_margin);
      // A place at which the engine no longer pulls with these jets is no point inside the limits.
      if (c.verdict.no_danger() && c.verdict.judged >= out_.fitted.verdict.judged)
        out_.best.push_back(std::move(c));
      else
        ++out_.rejected;
    }
    std::stable_sort(out_.best.begin(), out_.best.end(),
                     [](const Candidate& a, const Candidate& b) { return better(a.verdict, b.verdict); });
    // Those that are too often beyond the limit stand for themselves only where there are no others.
    out_.too_likely = !out_.best.empty() && !out_.best.front().verdict.acceptable();
    if (!out_.too_likely)
      std::erase_if(out_.best, [](const Candidate& c) { return !c.verdict.acceptable(); });
  }

  /// What is advised for the heights, taken down to the sea: the dangerous way.
  void judge_descent() {
    const double lowest = *std::min_element(out_.grid.altitudes.begin(), out_.grid.altitudes.end());
    if (lowest < high_up) return;
    std::vector<Place> down;
    for (Place place : sample_)
      if (place.altitude == lowest) {
        place.altitude = 0.0;
        down.push_back(place);
      }
    for (const auto& c : out_.best)
      out_.descent.push_back(
          judged(down, run_steady(scheduler_, tasks(settings_of(out_.adjusters, c.values), down))));
  }

  const ResolvedCase& resolved_;
  const StudyRequest& request_;
  PointScheduler& scheduler_;
  std::map<std::string, double> targets_;
  SearchOutcome out_;
  std::vector<Place> sample_;
  JetForecast forecast_{{}};
  std::vector<Entry> entries_;
  double margin_surprise_ = 0.0;  // largest difference between lean margin foretold and run
};

}  // namespace

Sets settings_of(const std::vector<Adjuster>& adjusters, const std::vector<double>& values) {
  Sets out;
  for (std::size_t k = 0; k < adjusters.size(); ++k)
    out = joined(std::move(out), adjusters[k].setting(values[k]));
  return out;
}

SearchOutcome search_jets(const ResolvedCase& resolved, const StudyRequest& request,
                          PointScheduler& scheduler) {
  return JetSearch(resolved, request, scheduler).run();
}

}  // namespace glassbowl::sim
