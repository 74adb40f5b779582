#include "sim/studies/map_study.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <optional>

#include "sim/report/lambda_text.hpp"
#include "sim/report/wrap_text.hpp"
#include "sim/run/summary.hpp"
#include "sim/studies/adjuster.hpp"
#include "sim/studies/judging.hpp"
#include "sim/studies/jumps.hpp"
#include "sim/studies/point_marks.hpp"
#include "sim/studies/uncertain_text.hpp"

namespace glassbowl::sim {
namespace {

std::string answer_of(const SteadyGrid& grid, const std::vector<SteadyFigures>& figures,
                      const Judgement& verdict) {
  std::size_t richest = 0, leanest = 0;
  int misfiring = 0, pulling = 0;
  bool any = false;
  for (std::size_t i = 0; i < figures.size(); ++i) {
    if (figures[i].usable() && figures[i].misfires > most_misfires) ++misfiring;
    if (!pulls(figures[i]) || lugging(figures[i])) continue;
    ++pulling;
    if (!any) richest = leanest = i;
    any = true;
    if (figures[i].trapped < figures[richest].trapped) richest = i;
    if (figures[i].trapped > figures[leanest].trapped) leanest = i;
  }
  std::string text;
  if (any && no_fuel(figures[richest].trapped))
    text += fmt::format("No fuel at any point under load ({} of {}).\n", pulling,
                        counted(figures.size(), "point"));
  else if (any)
    text += fmt::format("Lambda under load ({} of {}): {} (leanest, {}) to {} (richest, {}).\n", pulling,
                        counted(figures.size(), "point"), lambda_text(figures[leanest].trapped, 2),
                        place_text(grid, leanest), lambda_text(figures[richest].trapped, 2),
                        place_text(grid, richest));
  text += lugging_text(verdict);
  const int unsettled = verdict.unsettled - verdict.failed;
  text +=
      fmt::format("{} misfire{} ({} of them under load), {} do{} not converge, {} could not be computed.\n",
                  counted(static_cast<std::size_t>(misfiring), "point"), misfiring == 1 ? "s" : "",
                  verdict.misfiring, unsettled, unsettled == 1 ? "es" : "", verdict.failed);
  return text;
}

std::string table_of(const SteadyGrid& grid, const std::vector<SteadyFigures>& figures) {
  std::string text;
  // Wider only where words need it: ten openings shall fit into a terminal.
  const bool words =
      std::any_of(figures.begin(), figures.end(), [](const auto& f) { return no_fuel(f.trapped); });
  const int width = words ? 7 : 5, room = words ? 4 : 3;
  for (std::size_t a = 0; a < grid.altitudes.size(); ++a)
    for (std::size_t w = 0; w < grid.warmer.size(); ++w) {
      text += fmt::format(
          "\nIn-cylinder lambda, mean of cylinders, at {:.0f} m, {:+.0f} K from the standard day\n{}",
          grid.altitudes[a], grid.warmer[w],
          wrapped(fmt::format("({}, - not computed)", signs_text()), "", ""));
      text += "    rpm";
      for (const double o : grid.openings) text += fmt::format("{:>{}.3g} %", o * 100.0, width + room - 1);
      for (std::size_t s = 0; s < grid.speeds.size(); ++s) {
        text += fmt::format("\n{:>7.0f}", per_minute(grid.speeds[s]));
        for (std::size_t o = 0; o < grid.openings.size(); ++o) {
          const auto& f = figures[grid.index(a, w, s, o)];
          text += fmt::format(" {:>{}}{:<{}}", lambda_text(f.trapped), width, signs_behind(f), room);
        }
      }
      text += "\n";
    }
  return text;
}

Chart share_chart(const SteadyGrid& grid, const std::vector<SteadyFigures>& figures) {
  Chart chart = grid_chart(grid, "main_share", "Share of the main nozzle in all fuel");
  auto& c = chart.cells;
  c.scale = ColourScale::share;
  c.decimals = 0;
  c.low = 0.0;
  c.high = 100.0;
  c.meaning = "share [%]";
  for (std::size_t s = 0; s < grid.speeds.size(); ++s)
    for (std::size_t o = 0; o < grid.openings.size(); ++o)
      c.values.push_back(figures[grid.index(0, 0, s, o)].main_share() * 100.0);
  chart.caption =
      "How much of the fuel the main nozzle delivers; the rest comes from idle outlet and transfer ports.";
  return chart;
}

Chart torque_chart(const SteadyGrid& grid, const std::vector<SteadyFigures>& figures) {
  Chart chart;
  chart.name = "torque";
  chart.title = "Brake torque";
  chart.x_label = "speed [rpm]";
  chart.y_label = "brake torque [N m]";
  const std::size_t n = grid.openings.size();
  for (std::size_t k = 0; k < std::min<std::size_t>(5, n); ++k) {
    const std::size_t o = n <= 5 ? k : n - 1 - k * (n - 1) / 5;
    ChartLine line{fmt::format("{:.3g} % throttle", grid.openings[o] * 100.0), {}, true};
    for (std::size_t s = 0; s < grid.speeds.size(); ++s)
      line.points.emplace_back(per_minute(grid.speeds[s]), figures[grid.index(0, 0, s, o)].torque);
    chart.lines.push_back(std::move(line));
  }
  chart.caption = "Brake torque over speed at several throttle openings.";
  return chart;
}

}  // namespace

StudyResult run_map(const ResolvedCase& resolved, const StudyRequest& request, PointScheduler& scheduler) {
  const SteadyGrid grid = grid_of(resolved, request);
  auto figures = run_steady(scheduler, map_tasks(resolved.text, {}, grid.places(), request.accuracy));
  const Jumps jumps = mark_jumps(scheduler, resolved.text, {}, grid, request.accuracy, figures);
  Judgement verdict = judge(grid.places(), figures, usual_targets());
  std::optional<UncertainPoints> uncertain;
  if (request.bikes > 0) {
    uncertain.emplace(resolved, grid.places(), figures, request.bikes, request.accuracy, scheduler);
    uncertain->add_odds(verdict, grid.places(), figures, usual_targets(), request.lean_risk);
  }
  StudyResult out;
  out.file = new_result(resolved, request);
  add_grid_axes(out.file, grid);
  add_maps(out.file, figures);
  out.verdict = verdict_text(grid, verdict, "as fitted");
  if (!verdict.no_danger())
    out.caution = ride_warning(grid, verdict, "it as fitted") + leaner_caution +
                  leaner_than_fitted_text(adjusters_of(resolved));
  out.answer = answer_of(grid, figures, verdict) + jumps_text(grid, figures, jumps);
  out.table = table_of(grid, figures);
  for (std::size_t a = 0; a < grid.altitudes.size(); ++a)
    for (std::size_t w = 0; w < grid.warmer.size(); ++w) {
      std::string name = fmt::format("lambda_{:.0f}m", grid.altitudes[a]),
                  title = fmt::format("Lambda at {:.0f} m", grid.altitudes[a]);
      if (grid.warmer.size() > 1) {
        name += fmt::format("_{:+.0f}K", grid.warmer[w]);
        title += fmt::format(", {:+.0f} K", grid.warmer[w]);
      }
      out.charts.push_back(lambda_chart(grid, figures, a, name, title, w));
    }
  out.charts.push_back(share_chart(grid, figures));
  out.charts.push_back(torque_chart(grid, figures));
  if (uncertain) {
    add_ranges(out.file, grid, figures, *uncertain);
    add_contributions(out.file, *uncertain);
    out.answer += sure_text(*uncertain);
    out.table += what_matters_text(*uncertain);
    for (std::size_t a = 0; a < grid.altitudes.size(); ++a)
      out.charts.push_back(band_chart(grid, figures, *uncertain, a,
                                      fmt::format("band_{:.0f}m", grid.altitudes[a]),
                                      fmt::format("Lambda with its 95 % band, {:.0f} m", grid.altitudes[a])));
  }
  return out;
}

}  // namespace glassbowl::sim
