#include "sim/studies/jumps.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "sim/report/lambda_text.hpp"
#include "sim/run/summary.hpp"
#include "sim/studies/judging.hpp"

namespace glassbowl::sim {
namespace {

constexpr int halvings = 2;
constexpr double most_spent = 0.1;          // of a map's points
constexpr std::size_t each_costs = 6;       // two halvings, two points of two searches each
constexpr std::size_t always_examined = 2;  // steps
constexpr std::size_t most_told = 4;        // lines

bool counts(const SteadyFigures& f) {
  return pulls(f) && !lugging(f) && !no_fuel(f.trapped);
}

/// Places along one line of the grid.
struct Line {
  std::vector<std::size_t> points;
  std::vector<double> at;  ///< [-] throttle or [rad/s] speed
};

/// Adds the steps of one line whose unexplained change is too large.
void add_steps(const Line& line, const std::vector<SteadyFigures>& figures, std::vector<Step>& out) {
  const std::size_t n = line.points.size();
  const auto lambda = [&](std::size_t i) { return figures[line.points[i]].trapped; };
  const auto known = [&](std::size_t i) { return i < n && counts(figures[line.points[i]]); };
  const auto slope = [&](std::size_t i) {  // of the interval from i
    return (lambda(i + 1) - lambda(i)) / (line.at[i + 1] - line.at[i]);
  };
  std::vector<Step> all;
  for (std::size_t i = 0; i + 1 < n; ++i) {
    if (!known(i) || !known(i + 1)) continue;
    const double half = 0.5 * (line.at[i + 1] - line.at[i]);
    double left = lambda(i + 1) - lambda(i);
    if (i > 0 && known(i - 1)) left -= slope(i - 1) * half;
    if (known(i + 2)) left -= slope(i + 1) * half;
    // Slopes beside a jump that lies elsewhere must not make one here.
    if (std::abs(left) > std::abs(lambda(i + 1) - lambda(i))) left = lambda(i + 1) - lambda(i);
    all.push_back({line.points[i], line.points[i + 1], std::abs(left)});
  }
  if (all.empty()) return;
  std::vector<double> sizes;
  for (const auto& s : all) sizes.push_back(s.size);
  const auto middle = sizes.begin() + static_cast<std::ptrdiff_t>((sizes.size() - 1) / 2);
  std::nth_element(sizes.begin(), middle, sizes.end());
  for (const auto& s : all)
    if (s.size > std::max(least_step, sizes.size() > 2 ? medians * *middle : 0.0)) out.push_back(s);
}

Place between(const Place& a, const Place& b) {
  Place middle = a;
  middle.speed = 0.5 * (a.speed + b.speed);
  middle.opening = 0.5 * (a.opening + b.opening);
  return middle;
}

bool along_speed(const Jump& j) {
  return j.from.speed != j.to.speed;
}

/// Halves every range from cold starts, and keeps the half with the larger change. Where less than half of
/// the change stands in the quarter that is left, it is a slope: a straight line leaves a quarter.
std::vector<Jump> narrowed(PointScheduler& scheduler, const std::string& case_text, const Sets& sets,
                           const PointAccuracy& accuracy, std::vector<Jump> jumps) {
  const auto change = [](const SteadyFigures& a, const SteadyFigures& b) {
    return std::abs(lambda_change(a.trapped, b.trapped));
  };
  for (int k = 0; k < halvings; ++k) {
    std::vector<Place> middles;
    for (const auto& j : jumps) middles.push_back(between(j.from, j.to));
    const auto found = run_steady(scheduler, map_tasks(case_text, sets, middles, accuracy));
    for (std::size_t i = 0; i < jumps.size(); ++i) {
      Jump& j = jumps[i];
      if (!counts(found[i])) continue;
      if (change(j.before, found[i]) > change(found[i], j.after)) {
        j.to = middles[i];
        j.after = found[i];
      } else {
        j.from = middles[i];
        j.before = found[i];
      }
    }
  }
  std::erase_if(jumps, [&](const Jump& j) { return change(j.before, j.after) < 0.5 * j.step.size; });
  return jumps;
}

std::string values_text(const SteadyFigures& a, const SteadyFigures& b) {
  return fmt::format("lambda {} or {}, torque {:.1f} or {:.1f} N m", lambda_text(a.trapped),
                     lambda_text(b.trapped), a.torque, b.torque);
}

std::string range_text(const Jump& j) {
  if (along_speed(j))
    return fmt::format("from {:.0f} to {:.0f} rpm at {:.3g} % throttle", per_minute(j.from.speed),
                       per_minute(j.to.speed), j.from.opening * 100.0);
  return fmt::format("from {:.3g} to {:.3g} % throttle at {:.0f} rpm", j.from.opening * 100.0,
                     j.to.opening * 100.0, per_minute(j.from.speed));
}

std::string air_text(const SteadyGrid& grid, const Place& place) {
  std::string text;
  if (grid.altitudes.size() > 1) text += fmt::format(", {:.0f} m", place.altitude);
  if (grid.warmer.size() > 1) text += fmt::format(", {:+.0f} K", place.warmer);
  return text;
}

}  // namespace

std::vector<Step> steps_of(const SteadyGrid& grid, const std::vector<SteadyFigures>& figures) {
  std::vector<Step> out;
  for (std::size_t a = 0; a < grid.altitudes.size(); ++a)
    for (std::size_t w = 0; w < grid.warmer.size(); ++w) {
      for (std::size_t s = 0; s < grid.speeds.size(); ++s) {
        Line line{{}, grid.openings};
        for (std::size_t o = 0; o < grid.openings.size(); ++o) line.points.push_back(grid.index(a, w, s, o));
        add_steps(line, figures, out);
      }
      for (std::size_t o = 0; o < grid.openings.size(); ++o) {
        Line line{{}, grid.speeds};
        for (std::size_t s = 0; s < grid.speeds.size(); ++s) line.points.push_back(grid.index(a, w, s, o));
        add_steps(line, figures, out);
      }
    }
  std::stable_sort(out.begin(), out.end(), [](const Step& x, const Step& y) { return x.size > y.size; });
  return out;
}

Jumps mark_jumps(PointScheduler& scheduler, const std::string& case_text, const Sets& sets,
                 const SteadyGrid& grid, const PointAccuracy& accuracy, std::vector<SteadyFigures>& figures) {
  for (auto& f : figures)
    if (f.usable()) f.jump = 0.0;
  auto steps = steps_of(grid, figures);
  const auto paid = static_cast<std::size_t>(most_spent * static_cast<double>(grid.size())) / each_costs;
  const std::size_t examined = std::min(steps.size(), std::max(always_examined, paid));
  Jumps out;
  out.not_examined = steps.size() - examined;
  steps.resize(examined);
  std::vector<Jump> suspected;
  for (const auto& s : steps)
    suspected.push_back({s, grid.place(s.first), grid.place(s.second), figures[s.first], figures[s.second]});
  out.all = narrowed(scheduler, case_text, sets, accuracy, std::move(suspected));

  // Both ends of each step again, each from the cycle of the other. Steps that are slopes cost nothing more.
  const auto base = std::make_shared<const SharedCase>(case_text, sets);
  std::vector<PointTask> tasks;
  std::vector<std::size_t> points;
  for (const auto& j : out.all)
    for (const auto& [to, from] : {std::pair{j.step.first, j.step.second}, {j.step.second, j.step.first}}) {
      tasks.push_back(steady_task_from(base, grid.place(from), grid.place(to), accuracy));
      points.push_back(to);
    }
  const auto again = run_steady(scheduler, tasks);
  for (std::size_t i = 0; i < points.size(); ++i) {
    SteadyFigures& f = figures[points[i]];
    f.jump = 1.0;
    const SteadyFigures& second = again[i];
    if (second.converged() && std::abs(lambda_change(f.trapped, second.trapped)) > least_step) {
      f.other = second.trapped;
      f.other_leanest = second.leanest;
      f.other_torque = second.torque;
    }
  }
  return out;
}

std::string jump_findings(const SteadyGrid& grid, const std::vector<SteadyFigures>& figures,
                          const Jumps& jumps) {
  std::string text;
  std::size_t told = 0;
  for (const auto& j : jumps.all) {
    if (told++ == most_told) break;
    text +=
        fmt::format("{} likely {}{}: {}.\n", along_speed(j) ? "STEP IN THE PULL" : "FLAT SPOT", range_text(j),
                    air_text(grid, j.from), values_text(figures[j.step.first], figures[j.step.second]));
  }
  if (jumps.all.size() > most_told)
    text += fmt::format("{} more, marked in the table.\n", jumps.all.size() - most_told);
  for (std::size_t i = 0; i < figures.size(); ++i)
    if (two_valued(figures[i])) {
      SteadyFigures second = figures[i];
      second.trapped = figures[i].other;
      second.torque = figures[i].other_torque;
      text += fmt::format("Two settled cycles {}: {}, depending on where the engine comes from.\n",
                          place_text(grid, i), values_text(figures[i], second));
    }
  return text;
}

std::string jumps_text(const SteadyGrid& grid, const std::vector<SteadyFigures>& figures,
                       const Jumps& jumps) {
  std::string text = jump_findings(grid, figures, jumps);
  if (!text.empty())
    text +=
        "Margins count the leaner of two values. Ride through such a range slowly once, both ways, "
        "before any jet is changed.\n";
  if (jumps.not_examined > 0)
    text += fmt::format(
        "Not examined for jumps: {} of the map that are steeper than the neighbouring ones. Examine them "
        "with fewer "
        "speeds and more openings.\n",
        counted(jumps.not_examined, "step"));
  return text;
}

}  // namespace glassbowl::sim
