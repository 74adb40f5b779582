#include "sim/studies/compare_study.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>

#include "sim/report/lambda_text.hpp"
#include "sim/run/summary.hpp"
#include "sim/studies/blip_study.hpp"
#include "sim/studies/judging.hpp"
#include "sim/studies/steady_map.hpp"

namespace glassbowl::sim {
namespace {

std::string lag_text(const BlipFigures& b) {
  if (!b.computed()) return "the blip is not computed";
  if (b.stalled > 0.0) return "stalls in the blip";
  if (!std::isfinite(b.lag_50)) return "does not reach half of the blip's rise";
  return fmt::format("reaches half of the blip's rise {:.0f} ms later than with an ideal mixture",
                     b.lag_50 * 1e3);
}

std::string mixture_text(double lambda) {
  return (no_fuel(lambda) ? "" : "lambda ") + lambda_text(lambda);
}

/// Margin to the lean limit and where it is least, or that a cylinder gets almost no fuel there.
std::string lean_text(const SteadyGrid& grid, const Judgement& j) {
  if (j.judged == 0) return "margin to the lean limit not known";
  if (j.lean_margin == -INFINITY) return finding_text(grid, j);
  return fmt::format("margin to the lean limit {} {}", margin_text(j.lean_margin),
                     place_text(grid, j.lean_at));
}

Chart full_power_chart(const SteadyGrid& grid, const std::array<std::vector<SteadyFigures>, 2>& maps,
                       const std::array<std::string, 2>& names) {
  Chart chart;
  chart.name = "full_power";
  chart.title = "Power at the widest opening";
  chart.x_label = "speed [rpm]";
  chart.y_label = "power [kW]";
  chart.caption = "Power of both at the widest opening, lowest and highest altitude.";
  for (std::size_t k = 0; k < 2; ++k)
    for (const std::size_t a : {std::size_t{0}, grid.altitudes.size() - 1}) {
      ChartLine line{fmt::format("{}, {:.0f} m", names[k], grid.altitudes[a]), {}, true};
      for (std::size_t s = 0; s < grid.speeds.size(); ++s)
        line.points.emplace_back(per_minute(grid.speeds[s]),
                                 maps[k][grid.index(a, 0, s, grid.openings.size() - 1)].power * 1e-3);
      chart.lines.push_back(std::move(line));
      if (grid.altitudes.size() == 1) break;
    }
  return chart;
}

}  // namespace

StudyResult run_compare(const ResolvedCase& resolved, const StudyRequest& request,
                        PointScheduler& scheduler) {
  StudyRequest filled = request;
  if (filled.speeds.empty())
    for (int i = 0; i < 6; ++i) filled.speeds.push_back(from_per_minute(1500.0 + 900.0 * i));
  if (filled.openings.empty()) filled.openings = {0.0, 0.05, 0.13, 0.3, 0.55, 1.0};
  if (filled.altitudes.empty()) filled.altitudes = {0.0, 1200.0, 2700.0};
  const SteadyGrid grid = grid_of(resolved, filled);
  const std::array<ResolvedCase, 2> cases{resolved, read_case_text(request.beside, request.beside_name)};
  const std::array<std::string, 2> names{cases[0].name, cases[1].name};
  require_same_air(cases[0], cases[1], filled);
  std::array<std::vector<SteadyFigures>, 2> maps;
  std::vector<BlipFigures> blips;
  scheduler.expect(2 * grid.size() + 2);
  for (std::size_t k = 0; k < 2; ++k) {
    maps[k] = run_steady(scheduler, map_tasks(cases[k].text, {}, grid.places(), request.accuracy));
    blips.push_back(to_blip(scheduler.run({blip_task(with_blip(cases[k]).text, {}, names[k])}).front()));
  }

  StudyResult out;
  out.file = new_result(resolved, request);
  out.file.axes.push_back({"machine", "1", "0 the first, 1 the second", {0.0, 1.0}});
  add_grid_axes(out.file, grid);
  std::vector<SteadyFigures> both = maps[0];
  both.insert(both.end(), maps[1].begin(), maps[1].end());
  add_maps(out.file, both, "machine");
  ResultFile side;
  add_blips(side, {names[0], names[1]}, blips, "machine");
  out.file.axes.push_back(side.axis("sample"));
  for (auto& v : side.variables) {
    v.name = "blip_" + v.name;  // misfires are counted in maps, too
    out.file.variables.push_back(std::move(v));
  }
  for (auto& t : side.texts) out.file.texts.push_back(std::move(t));

  bool danger = false;
  const std::size_t last = grid.altitudes.size() - 1, full = grid.openings.size() - 1,
                    mid = grid.speeds.size() / 2;
  for (std::size_t k = 0; k < 2; ++k) {
    const Judgement verdict = judge(grid.places(), maps[k], usual_targets());
    out.verdict += verdict_text(grid, verdict, names[k]);
    out.caution += ride_warning(grid, verdict, names[k] + " as fitted");
    danger = danger || !verdict.no_danger();
    const auto &low = maps[k][grid.index(0, 0, mid, full)], &high = maps[k][grid.index(last, 0, mid, full)];
    out.answer += fmt::format(
        "{}: {}; {}; {}. "
        "At {:.0f} rpm and the widest opening {} and {} kW at {:.0f} m, {} and {} "
        "kW at {:.0f} m.\n",
        names[k], error_text(verdict), lean_text(grid, verdict), lag_text(blips[k]),
        per_minute(grid.speeds[mid]), mixture_text(low.trapped), number_text(low.power * 1e-3, 1),
        grid.altitudes.front(), mixture_text(high.trapped), number_text(high.power * 1e-3, 1),
        grid.altitudes.back());
  }
  out.answer += targets_text(usual_targets());
  if (danger) out.caution += leaner_caution;
  out.table = "\n   altitude     rpm  throttle   lambda " + names[0] + " / " + names[1] +
              "   torque, N m   (- not computed)\n";
  for (std::size_t i = 0; i < grid.size(); ++i) {
    const Place p = grid.place(i);
    out.table += fmt::format("   {:>6.0f} m  {:>6.0f}  {:>6.3g} %   {:>7} / {:<7}  {:>8} / {}\n", p.altitude,
                             per_minute(p.speed), p.opening * 100, lambda_text(maps[0][i].trapped),
                             lambda_text(maps[1][i].trapped), number_text(maps[0][i].torque, 1),
                             number_text(maps[1][i].torque, 1));
  }
  out.table += blip_table({names[0], names[1]}, blips);
  for (std::size_t k = 0; k < 2; ++k)
    for (std::size_t a = 0; a < grid.altitudes.size(); ++a)
      out.charts.push_back(lambda_chart(grid, maps[k], a,
                                        fmt::format("lambda{}_{:.0f}m", k + 1, grid.altitudes[a]),
                                        fmt::format("Lambda, {}, {:.0f} m", names[k], grid.altitudes[a])));
  out.charts.push_back(full_power_chart(grid, maps, names));
  for (auto& chart : blip_charts({names[0], names[1]}, blips)) out.charts.push_back(std::move(chart));
  return out;
}

}  // namespace glassbowl::sim
