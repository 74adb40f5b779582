#include "sim/studies/altitude_study.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "models/constants.hpp"
#include "models/fluids/atmosphere.hpp"
#include "sim/api/error.hpp"
#include "sim/report/lambda_text.hpp"
#include "sim/run/summary.hpp"
#include "sim/studies/adjuster.hpp"
#include "sim/studies/judging.hpp"
#include "sim/studies/point_marks.hpp"
#include "sim/studies/uncertain_text.hpp"

namespace glassbowl::sim {
namespace {

struct Machine {
  std::string name;
  ResolvedCase resolved;
  std::vector<SteadyFigures> throttle;                 ///< altitude x opening
  std::vector<SteadyFigures> power;                    ///< altitude
  std::shared_ptr<const UncertainPoints> uncertain{};  ///< at `drawn_heights`, every opening
};

/// Lowest, middle and highest altitude: the bikes are drawn there, and ranges between them taken by straight
/// lines.
std::vector<std::size_t> drawn_heights(const SteadyGrid& grid) {
  const std::size_t last = grid.altitudes.size() - 1;
  std::vector<std::size_t> out{0, last / 2, last};
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

std::shared_ptr<const UncertainPoints> draw_bikes(const Machine& machine, const SteadyGrid& grid,
                                                  const StudyRequest& request, PointScheduler& scheduler) {
  const std::size_t n = grid.openings.size();
  std::vector<Place> places;
  std::vector<SteadyFigures> given;
  for (const std::size_t a : drawn_heights(grid))
    for (std::size_t o = 0; o < n; ++o) {
      places.push_back(grid.place(a * n + o));
      given.push_back(machine.throttle[a * n + o]);
    }
  return std::make_shared<const UncertainPoints>(machine.resolved, places, given, request.bikes,
                                                 request.accuracy, scheduler);
}

/// 95 % band of lambda over that at the lowest altitude, for a line of ratios at one opening.
std::vector<std::pair<double, double>> ratio_band(const Machine& machine, const SteadyGrid& grid,
                                                  std::size_t opening,
                                                  const std::vector<std::pair<double, double>>& line) {
  const std::size_t n = grid.openings.size();
  const auto heights = drawn_heights(grid);
  std::vector<std::pair<double, double>> out;
  for (std::size_t a = 0; a < grid.altitudes.size(); ++a) {
    std::size_t k = 1;  // the drawn heights k - 1 and k enclose this one
    while (k + 1 < heights.size() && heights[k] < a) ++k;
    const double from = grid.altitudes[heights[k - 1]], to = grid.altitudes[heights[k]],
                 share = (grid.altitudes[a] - from) / (to - from);
    const auto at = [&](std::size_t drawn) {  // relative to the ratio of the case as given
      const Range95 r = machine.uncertain->ratio_range(drawn * n + opening, opening);
      const double ratio = line[heights[drawn]].second;
      return std::pair{r.low / ratio, r.high / ratio};
    };
    const auto low = at(k - 1), high = at(k);
    out.emplace_back(line[a].second * (low.first + share * (high.first - low.first)),
                     line[a].second * (low.second + share * (high.second - low.second)));
  }
  return out;
}

double density(double altitude, double warmer) {
  const auto air = m::standard_atmosphere(altitude, warmer);
  return air.pressure / (m::constants::R_air * air.temperature);
}

/// What brings the top's mixture at one opening back to that of the bottom, and what it does everywhere: what
/// is fitted stays in at every opening.
struct Remedy {
  Adjuster adjuster;
  double value = 0.0;
  int steps = 0;
  std::vector<SteadyFigures> top, bottom;  ///< of every opening
};

/// The points of one altitude, from the first opening on.
std::vector<Place> places_at(const SteadyGrid& grid, std::size_t altitude) {
  std::vector<Place> out;
  const std::size_t n = grid.openings.size();
  for (std::size_t o = 0; o < n; ++o) out.push_back(grid.place(altitude * n + o));
  return out;
}

/// Seeks, at one opening, the adjuster that moves the mixture most by a step to the lean side, takes as many
/// steps as the shift allows inside the limits at all openings up there, and runs that at the top and at
/// the bottom.
std::optional<Remedy> find_remedy(const Machine& machine, const SteadyGrid& grid, std::size_t opening,
                                  const PointAccuracy& accuracy, PointScheduler& scheduler) {
  const std::size_t n = grid.openings.size(), last = grid.altitudes.size() - 1;
  const auto &bottom = machine.throttle[opening], &top = machine.throttle[last * n + opening];
  if (!bottom.usable() || !top.usable() || no_fuel(bottom.trapped) || !(top.trapped < bottom.trapped))
    return std::nullopt;
  const Place up = grid.place(last * n + opening);
  const auto top_places = places_at(grid, last);
  const auto judge_top = [&](const std::vector<SteadyFigures>& figures) {
    return judge(top_places, figures, usual_targets());
  };
  const auto top_row = machine.throttle.begin() + static_cast<std::ptrdiff_t>(last * n);
  const int judged_as_fitted = judge_top({top_row, top_row + static_cast<std::ptrdiff_t>(n)}).judged;
  std::vector<Adjuster> candidates;
  for (const auto& a : adjusters_of(machine.resolved))
    if (a.id == "main_jet" || a.id == "needle_raised" || a.id == "slow_jet" || a.id == "screw")
      candidates.push_back(a);
  const auto changed = [&](const Adjuster& a, double value) {
    return std::make_shared<const SharedCase>(machine.resolved.text, a.setting(value));
  };
  std::vector<PointTask> tasks;
  for (const auto& a : candidates)
    tasks.push_back(steady_task(changed(a, a.moved(a.fitted, -1)), up, accuracy));
  const auto moved = run_steady(scheduler, tasks);
  std::size_t best = 0;
  const auto gain = [&](std::size_t k) {
    const double more = lambda_change(top.trapped, moved[k].trapped);
    return std::isfinite(more) ? more : 0.0;
  };
  for (std::size_t k = 1; k < moved.size(); ++k)
    if (gain(k) > gain(best)) best = k;
  if (!(gain(best) > 1e-3)) return std::nullopt;
  Remedy out{candidates[best], 0.0, 0, {}, {}};
  // A step grows as the jet shrinks, so what a straight line asks for can be too much: back off until it
  // fits.
  for (out.steps = std::max(1, static_cast<int>(std::floor((bottom.trapped - top.trapped) / gain(best))));;
       --out.steps) {
    out.value = out.adjuster.moved(out.adjuster.fitted, -out.steps);
    const auto base = changed(out.adjuster, out.value);
    std::vector<PointTask> everywhere;
    for (const std::size_t height : {last, std::size_t{0}})
      for (std::size_t o = 0; o < n; ++o)
        everywhere.push_back(steady_task(base, grid.place(height * n + o), accuracy));
    const auto found = run_steady(scheduler, everywhere);
    const auto middle = found.begin() + static_cast<std::ptrdiff_t>(n);
    out.top.assign(found.begin(), middle);
    out.bottom.assign(middle, found.end());
    const Judgement judgement = judge_top(out.top);
    if (judgement.no_danger() && judgement.judged >= judged_as_fitted &&
        out.top[opening].trapped <= bottom.trapped + search_rounding)
      break;
    if (out.steps == 1) return std::nullopt;  // even one step is too much
  }
  return out;
}

/// Where a sign stands in a chart of ratios: at its point, or at the height of no shift where there is none.
double drawn_at(double ratio) {
  return std::isfinite(ratio) ? ratio : 1.0;
}

/// Altitude at which a value passes a limit, by straight lines; NaN if it never does.
double passes(const std::vector<double>& altitudes, const std::vector<double>& values, double limit) {
  for (std::size_t i = 1; i < values.size(); ++i)
    if ((values[i - 1] >= limit) != (values[i] >= limit))
      return altitudes[i - 1] +
             (altitudes[i] - altitudes[i - 1]) * (limit - values[i - 1]) / (values[i] - values[i - 1]);
  return NAN;
}

ChartLine law_line(const std::vector<double>& altitudes, double warmer) {
  ChartLine line{"square-root law", {}, false};
  for (const double h : altitudes)
    line.points.emplace_back(h, std::sqrt(density(h, warmer) / density(altitudes.front(), warmer)));
  return line;
}

/// [-] by which the leanest cylinder passes the lean limit for its load; negative inside.
double beyond_limit(const SteadyFigures& f) {
  return f.leanest - lean_limit_under_load(f.filling);
}

/// As near as straight lines between the heights can tell [m].
double about(double altitude) {
  constexpr double nearest = 50.0;
  return std::round(altitude / nearest) * nearest;
}

/// Where along the way up a limit is passed, "below about 2,000 m" say.
std::string side_text(const std::vector<double>& altitudes, const std::vector<double>& beyond) {
  const double leaves = passes(altitudes, beyond, 0.0);
  if (!std::isfinite(leaves)) return "at every altitude";
  int crossings = 0;
  for (std::size_t i = 1; i < beyond.size(); ++i) crossings += (beyond[i - 1] > 0.0) != (beyond[i] > 0.0);
  if (crossings > 1) return "at several of these altitudes";
  if (beyond.front() > 0.0 && beyond.back() <= 0.0) return fmt::format("below about {:.0f} m", about(leaves));
  if (beyond.front() <= 0.0 && beyond.back() > 0.0) return fmt::format("above about {:.0f} m", about(leaves));
  return "at some of these altitudes";
}

/// The grid of one opening over all altitudes.
SteadyGrid column_of(const SteadyGrid& grid, std::size_t opening) {
  return {grid.altitudes, grid.warmer, grid.speeds, {grid.openings[opening]}};
}

/// Finding on one opening over all altitudes; of a limit that is passed, on which side of which altitude.
std::string column_text(const SteadyGrid& column, const std::vector<SteadyFigures>& figures) {
  const Judgement j = judge(column.places(), figures, usual_targets());
  std::vector<double> known, beyond, too_rich;
  for (std::size_t a = 0; a < figures.size(); ++a)
    if (pulls(figures[a]) && !lugging(figures[a])) {
      known.push_back(column.altitudes[a]);
      beyond.push_back(beyond_limit(figures[a]));
      too_rich.push_back(fouling_limit - figures[a].richest);
    }
  switch (j.finding()) {
    case Finding::beyond_lean:
      if (!std::isfinite(j.lean_margin)) return "DANGEROUS: " + finding_text(column, j);
      return fmt::format("DANGEROUS: beyond the lean limit for its load by up to {:.3f}, {}", -j.lean_margin,
                         side_text(known, beyond));
    case Finding::near_lean:
    case Finding::misfires:
      return "DANGEROUS: " + finding_text(column, j);
    case Finding::not_known:
      return "not known: " + finding_text(column, j);
    case Finding::not_judged:
      return "not judged: the engine does not pull, or cannot be run at this speed";
    case Finding::beyond_rich:
      return fmt::format("beyond the rich limit ({:.2f}) {}: plugs may foul", fouling_limit,
                         side_text(known, too_rich));
    case Finding::inside:
      return fmt::format("inside the limits at {}, least margin to the lean limit {}",
                         counted(static_cast<std::size_t>(j.judged), "altitude"), margin_text(j.lean_margin));
  }
  return "";
}

/// Lambda at the bottom and at the top, and their ratio where both have fuel.
std::string shift_text(double bottom, double top) {
  if (no_fuel(bottom) && no_fuel(top)) return "no fuel";
  const double ratio = lambda_ratio(bottom, top);
  const auto words = [](double lambda) { return std::isnan(lambda) ? "not computed" : lambda_text(lambda); };
  return fmt::format("lambda {} to {}{}", words(bottom), words(top),
                     std::isfinite(ratio) ? fmt::format(" (times {:.3f})", ratio) : "");
}

/// At `opening`, one of the grid's.
std::string describe_remedy(const Remedy& r, const SteadyGrid& grid, std::size_t opening,
                            const Judgement& down) {
  SteadyGrid bottom = grid;
  bottom.altitudes.resize(1);
  const double high = grid.altitudes.back(), low = grid.altitudes.front();
  std::string text = fmt::format(
      "  At {:.3g} % throttle the {} restores the mixture at {:.0f} m best: {} to {} (leaner) gives lambda "
      "{}.\n",
      grid.openings[opening] * 100, r.adjuster.name, high, r.adjuster.text(r.adjuster.fitted),
      r.adjuster.text(r.value), lambda_text(r.top[opening].trapped));
  text += fmt::format("    Down again at {:.0f} m with it: {}", low, finding_text(bottom, down));
  return text + (down.no_danger()
                     ? fmt::format("; {}. Leaner than fitted: change it back before you ride down.\n",
                                   unmeasured_sizes)
                     : std::string(". DANGEROUS: change it back before you ride down.\n"));
}

/// Why no leaner jet is offered, the one reason that applies.
std::string no_remedy_text(const SteadyGrid& grid, const Judgement& j) {
  const bool lean = j.finding() == Finding::beyond_lean || j.finding() == Finding::near_lean;
  return fmt::format("  No leaner jet is offered for the height: as fitted, {}.{}\n", finding_text(grid, j),
                     lean ? " First fit richer jets." : "");
}

}  // namespace

StudyResult run_altitude(const ResolvedCase& resolved, const StudyRequest& request,
                         PointScheduler& scheduler) {
  StudyRequest filled = request;
  if (filled.altitudes.empty()) filled.altitudes = {0.0, 500.0, 1000.0, 1500.0, 2000.0, 2700.0};
  if (filled.openings.empty()) filled.openings = {0.1, 0.3, 1.0};
  if (filled.speeds.empty()) filled.speeds = {from_per_minute(3500.0)};
  if (filled.speeds.size() > 1)
    throw Error(ErrorKind::input, "altitude looks at one speed; give one with --speeds");
  const SteadyGrid grid = grid_of(resolved, filled);
  const std::size_t n = grid.openings.size(), heights = grid.altitudes.size();
  const std::size_t held = n / 2;  // the opening whose power is held

  std::vector<Machine> machines{{resolved.name, resolved, {}, {}, {}}};
  if (!request.beside.empty()) {
    machines.push_back(
        {request.beside_name, read_case_text(request.beside, request.beside_name), {}, {}, {}});
    require_same_air(resolved, machines.back().resolved, filled);
  }
  for (auto& r : machines)
    r.throttle = run_steady(scheduler, map_tasks(r.resolved.text, {}, grid.places(), request.accuracy));
  if (request.bikes > 0)
    for (auto& r : machines) r.uncertain = draw_bikes(r, grid, request, scheduler);
  const double torque = machines.front().throttle[held].torque;
  for (auto& r : machines) {
    std::vector<PointTask> tasks;
    const auto base = std::make_shared<const SharedCase>(r.resolved.text, Sets{});
    for (std::size_t a = 0; a < heights; ++a)
      tasks.push_back(steady_task_at_torque(base, grid.place(a * n), torque, request.accuracy));
    r.power = run_steady(scheduler, tasks);
  }

  StudyResult out;
  out.file = new_result(resolved, request);
  add_grid_axes(out.file, grid);
  Chart equal_throttle, equal_power, power_left;
  equal_throttle.name = "equal_throttle";
  equal_throttle.title = "Mixture shift at equal throttle";
  equal_throttle.y_label = equal_power.y_label =
      fmt::format("lambda / lambda at {:.0f} m", grid.altitudes.front());
  equal_throttle.x_label = equal_power.x_label = power_left.x_label = "altitude [m]";
  equal_throttle.caption =
      "How much richer the same jets run with height, beside the square-root law of density.";
  equal_power.name = "equal_power";
  equal_power.title = fmt::format("Mixture shift at equal power, {:.1f} kW", torque * grid.speeds[0] * 1e-3);
  equal_power.caption = "The rider opens the throttle further with height; the circuits shift as well.";
  power_left.name = "power_left";
  power_left.title = "Power left at full throttle";
  power_left.y_label = fmt::format("power, % of that at {:.0f} m", grid.altitudes.front());
  power_left.caption = "Power at the widest opening, with the jets as fitted.";
  const double warmer = grid.warmer.front();
  const double law =
      std::sqrt(density(grid.altitudes.back(), warmer) / density(grid.altitudes.front(), warmer));
  const double low = grid.altitudes.front(), high = grid.altitudes.back();
  bool dangerous_below = false;
  for (std::size_t k = 0; k < machines.size(); ++k) {
    const Machine& r = machines[k];
    Judgement fitted = judge(grid.places(), r.throttle, usual_targets());
    if (r.uncertain)
      r.uncertain->add_odds(fitted, grid.places(), r.throttle, usual_targets(), request.lean_risk);
    const std::string subject = machines.size() == 1 ? "" : r.name + " ";
    out.verdict += verdict_text(grid, fitted, subject + "as fitted");
    out.caution += ride_warning(grid, fitted, machines.size() == 1 ? "it as fitted" : subject + "as fitted");
    add_maps(out.file, r.throttle, "", k == 0 ? "" : "beside_");
    if (r.uncertain) {
      add_ranges(out.file, grid, r.throttle, *r.uncertain, k == 0 ? "" : "beside_");
      if (k == 0) add_contributions(out.file, *r.uncertain);
    }
    for (const auto& column : steady_columns) {
      ResultVariable v{fmt::format("{}equal_power_{}", k == 0 ? "" : "beside_", column.name),
                       column.unit,
                       fmt::format("{}, at the power held", column.long_name),
                       {"altitude"},
                       {}};
      for (const auto& f : r.power) v.values.push_back(f.*column.value);
      out.file.variables.push_back(std::move(v));
    }
    out.answer +=
        fmt::format("{} at {:.0f} rpm, from {:.0f} to {:.0f} m (square-root law: lambda times {:.3f}):\n",
                    r.name, per_minute(grid.speeds[0]), low, high, law);
    for (std::size_t o = 0; o < n; ++o) {
      ChartLine line{fmt::format("{}, {:.3g} %", r.name, grid.openings[o] * 100), {}, true};
      std::vector<SteadyFigures> column;
      for (std::size_t a = 0; a < heights; ++a) {
        const auto& f = r.throttle[a * n + o];
        column.push_back(f);
        line.points.emplace_back(grid.altitudes[a], lambda_ratio(r.throttle[o].trapped, f.trapped));
        add_marks(equal_throttle, f, line.points.back().first, drawn_at(line.points.back().second));
      }
      if (r.uncertain && heights > 1) line.band = ratio_band(r, grid, o, line.points);
      equal_throttle.lines.push_back(std::move(line));
      out.answer += fmt::format("  {:.3g} % throttle: {}; {}.\n", grid.openings[o] * 100,
                                shift_text(column.front().trapped, column.back().trapped),
                                column_text(column_of(grid, o), column));
    }
    ChartLine same{r.name, {}, true}, left{r.name, {}, true};
    for (std::size_t a = 0; a < heights; ++a) {
      same.points.emplace_back(grid.altitudes[a], lambda_ratio(r.power[0].trapped, r.power[a].trapped));
      left.points.emplace_back(grid.altitudes[a],
                               100.0 * r.throttle[a * n + n - 1].power / r.throttle[n - 1].power);
      add_marks(equal_power, r.power[a], same.points.back().first, drawn_at(same.points.back().second));
      add_marks(power_left, r.throttle[a * n + n - 1], left.points.back().first, left.points.back().second);
    }
    out.answer += fmt::format("  At equal power: {}\n",
                              r.power.front().usable() && r.power.back().usable()
                                  ? fmt::format("lambda times {}, throttle {:.0f} to {:.0f} %.",
                                                lambda_ratio_text(r.power[0].trapped, r.power.back().trapped),
                                                r.power[0].opening * 100, r.power.back().opening * 100)
                                  : std::string("that power is not reached."));
    out.answer += r.throttle[n - 1].power > 0.0
                      ? fmt::format("  Power left at the widest opening: {} %.\n",
                                    number_text(left.points.back().second, 0))
                      : std::string("  The engine gives no power at the widest opening.\n");
    if (r.uncertain) out.answer += "  " + sure_text(*r.uncertain);
    equal_power.lines.push_back(std::move(same));
    power_left.lines.push_back(std::move(left));
    if (!fitted.no_danger()) {
      out.answer += no_remedy_text(grid, fitted);
      continue;
    }
    for (std::size_t o = 0; o < n; ++o)
      if (const auto remedy = find_remedy(r, grid, o, request.accuracy, scheduler)) {
        const Judgement down = judge(places_at(grid, 0), remedy->bottom, usual_targets());
        out.answer += describe_remedy(*remedy, grid, o, down);
        dangerous_below = dangerous_below || !down.no_danger();
      }
  }
  equal_throttle.lines.push_back(law_line(grid.altitudes, warmer));
  equal_power.lines.push_back(law_line(grid.altitudes, warmer));
  out.charts = {equal_throttle, equal_power, power_left};
  out.caution +=
      fmt::format(
          "THE WAY DOWN FIRST: a jet that suits {:.0f} m is too lean at {:.0f} m, where the air is denser.\n",
          high, low) +
      (dangerous_below
           ? fmt::format("At least one of the jets below would be beyond a limit at {:.0f} m.\n", low)
           : std::string()) +
      "Change back before the descent.\n" + leaner_caution + leaner_than_fitted_text(adjusters_of(resolved));
  for (const auto& r : machines) {
    out.table += fmt::format(
        "\n{}: lambda over lambda at {:.0f} m, by throttle opening (- not computed)\n  altitude    law",
        r.name, low);
    for (const double opening : grid.openings) out.table += fmt::format("{:>7.3g} %", opening * 100);
    out.table += "\n";
    for (std::size_t a = 0; a < heights; ++a) {
      out.table += fmt::format("  {:>6.0f} m  {:.3f}", grid.altitudes[a],
                               equal_throttle.lines.back().points[a].second);
      for (std::size_t o = 0; o < n; ++o)
        out.table +=
            fmt::format("{:>9}", lambda_ratio_text(r.throttle[o].trapped, r.throttle[a * n + o].trapped));
      out.table += "\n";
    }
  }
  for (const auto& r : machines)
    if (r.uncertain)
      out.table += (machines.size() > 1 ? "\n" + r.name : "") + what_matters_text(*r.uncertain);
  return out;
}

}  // namespace glassbowl::sim
