#include "sim/studies/overlap_study.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/api/error.hpp"
#include "sim/studies/steady_map.hpp"

namespace glassbowl::sim {
namespace {

constexpr double counts = 0.1;    // share from which on a circuit takes part
constexpr double feels = 0.25;    // of its strongest effect: where an adjuster still reaches
constexpr double hardly = 0.003;  // [-] lambda: below it nothing is felt at all

struct Shares {
  std::vector<double> idle, ports, main;
};

Shares shares_of(const std::vector<SteadyFigures>& figures) {
  Shares out;
  for (const auto& f : figures) {
    out.idle.push_back(f.idle / f.fuel);
    out.ports.push_back(f.ports / f.fuel);
    out.main.push_back(f.main / f.fuel);
  }
  return out;
}

/// Where the straight line between two points crosses `level`.
double crossing(double x0, double y0, double x1, double y1, double level) {
  return x0 + (x1 - x0) * (level - y0) / (y1 - y0);
}

std::string percent(double opening) {
  return fmt::format("{:.0f} %", opening * 100.0);
}

std::vector<OverlapRange> all_overlaps(const std::vector<double>& openings, const Shares& s) {
  auto out = find_overlaps(openings, s.idle, s.ports, "idle outlet", "transfer ports");
  for (auto more : {find_overlaps(openings, s.ports, s.main, "transfer ports", "main nozzle"),
                    find_overlaps(openings, s.idle, s.main, "idle outlet", "main nozzle")})
    out.insert(out.end(), more.begin(), more.end());
  return out;
}

/// First and last opening at which an effect is at least a quarter of its strongest.
std::pair<double, double> reach_of(const Effect& effect, const std::vector<double>& openings) {
  double from = NAN, to = NAN;
  for (std::size_t i = 0; i < openings.size(); ++i)
    if (std::abs(effect.change[i]) >= feels * effect.strongest()) {
      if (std::isnan(from)) from = openings[i];
      to = openings[i];
    }
  return {from, to};
}

std::string shares_text(const std::vector<double>& openings, const Shares& s) {
  std::string text;
  for (const auto& h :
       find_hand_overs(openings, {s.idle, s.ports, s.main}, {"idle outlet", "transfer ports", "main nozzle"}))
    text += fmt::format("At {} throttle the lead passes from {} to {}.\n", percent(h.at), h.from, h.to);
  for (const auto& o : all_overlaps(openings, s))
    text += fmt::format("From {} to {} the {} and the {} each give more than a tenth of the fuel.\n",
                        percent(o.from), percent(o.to), o.first, o.second);
  return text;
}

std::string reach_text(const std::vector<double>& openings, const std::vector<Effect>& effects) {
  std::string text;
  for (const auto& e : effects) {
    if (!(e.strongest() >= hardly)) {
      text += fmt::format("  {:<15} one step ({}) is hardly felt anywhere\n", e.adjuster.name,
                          e.adjuster.text(e.value));
      continue;
    }
    const auto [from, to] = reach_of(e, openings);
    std::size_t best = 0;
    for (std::size_t i = 0; i < openings.size(); ++i)
      if (std::abs(e.change[i]) > std::abs(e.change[best]) || std::isnan(e.change[best])) best = i;
    text += fmt::format("  {:<15} {} to {}: lambda {:+.3f} at {}, felt from {} to {}\n", e.adjuster.name,
                        e.adjuster.text(e.adjuster.fitted), e.adjuster.text(e.value), e.change[best],
                        percent(openings[best]), percent(from), percent(to));
  }
  return text;
}

std::string touch_text(const std::vector<double>& openings, const std::vector<Effect>& effects) {
  std::string text;
  for (std::size_t i = 0; i < openings.size(); ++i) {
    std::vector<const Effect*> order;
    for (const auto& e : effects)
      if (std::abs(e.change[i]) >= hardly) order.push_back(&e);
    std::sort(order.begin(), order.end(), [&](const Effect* a, const Effect* b) {
      return std::abs(a->change[i]) > std::abs(b->change[i]);
    });
    std::string list;
    for (std::size_t k = 0; k < std::min<std::size_t>(3, order.size()); ++k)
      list += fmt::format("{}{} ({:+.3f})", k == 0 ? "" : ", ", order[k]->adjuster.name, order[k]->change[i]);
    text += fmt::format("  {:>5}  {}\n", percent(openings[i]),
                        list.empty() ? "nothing moves it by a step" : list);
  }
  return text;
}

std::string shares_table(const std::vector<double>& openings, const std::vector<SteadyFigures>& figures,
                         const Shares& s, bool piston) {
  std::string text = "\n  throttle  lambda  idle outlet  transfer ports  main nozzle";
  text += piston ? "  piston lift\n" : "\n";
  for (std::size_t i = 0; i < openings.size(); ++i)
    text += fmt::format("  {:>8}  {:>6.3f}  {:>9.1f} %  {:>12.1f} %  {:>9.1f} %{}{}\n", percent(openings[i]),
                        figures[i].trapped, s.idle[i] * 100, s.ports[i] * 100, s.main[i] * 100,
                        piston ? fmt::format("  {:>8.1f} mm", figures[i].lift * 1e3) : "",
                        figures[i].converged() ? "" : "  does not settle");
  return text;
}

/// A needle works by the piston's lift, which a throttle opening alone does not tell.
std::string lift_text(const std::vector<double>& openings, const std::vector<SteadyFigures>& figures) {
  const std::size_t middle = openings.size() / 2;
  return fmt::format(
      "\nThe needle goes with the piston, not with the throttle: the piston stands at {:.1f} mm at {}, at "
      "{:.1f} "
      "mm at {} and at {:.1f} mm at {}.\nThe narrower the gap it leaves, the more a step of needle or needle "
      "jet "
      "changes, so both act from the smallest openings to the middle.\n",
      figures.front().lift * 1e3, percent(openings.front()), figures[middle].lift * 1e3,
      percent(openings[middle]), figures.back().lift * 1e3, percent(openings.back()));
}

Chart shares_chart(const std::vector<double>& openings, const Shares& s, double speed) {
  Chart chart;
  chart.name = fmt::format("shares_{:.0f}rpm", per_minute(speed));
  chart.title = fmt::format("Who feeds the engine at {:.0f} 1/min", per_minute(speed));
  chart.x_label = "throttle opening [%]";
  chart.y_label = "share of all fuel [%]";
  chart.kind = ChartKind::stacked;
  chart.lines = {{"idle outlet", {}, true}, {"transfer ports", {}, true}, {"main nozzle", {}, true}};
  for (std::size_t i = 0; i < openings.size(); ++i) {
    chart.lines[0].points.emplace_back(openings[i] * 100, s.idle[i] * 100);
    chart.lines[1].points.emplace_back(openings[i] * 100, s.ports[i] * 100);
    chart.lines[2].points.emplace_back(openings[i] * 100, s.main[i] * 100);
  }
  chart.caption = "Shares of the outlets in all fuel, one on top of the other.";
  return chart;
}

Chart effects_chart(const std::vector<double>& openings, const std::vector<Effect>& effects, double speed) {
  Chart chart;
  chart.name = fmt::format("effects_{:.0f}rpm", per_minute(speed));
  chart.title = fmt::format("One step richer, at {:.0f} 1/min", per_minute(speed));
  chart.x_label = "throttle opening [%]";
  chart.y_label = "change of lambda";
  for (const auto& e : effects) {
    ChartLine line{e.adjuster.name, {}, true};
    for (std::size_t i = 0; i < openings.size(); ++i)
      line.points.emplace_back(openings[i] * 100, e.change[i]);
    chart.lines.push_back(std::move(line));
  }
  chart.caption = "How far each jet, screw and level reaches: what one step to the rich side does to lambda.";
  return chart;
}

Chart lift_chart(const std::vector<SteadyFigures>& figures, const std::vector<Effect>& effects,
                 double speed) {
  std::vector<double> lifts;
  for (const auto& f : figures) lifts.push_back(f.lift * 1e3);
  Chart chart = effects_chart(lifts, effects, speed);
  chart.name = fmt::format("effects_by_lift_{:.0f}rpm", per_minute(speed));
  chart.title = fmt::format("One step richer by piston lift, at {:.0f} 1/min", per_minute(speed));
  chart.x_label = "piston lift [mm]";
  for (auto& line : chart.lines)
    for (auto& [lift, change] : line.points) lift *= 1e-2;  // an opening was drawn in per cent
  chart.caption = "The same over the height at which the piston floats, which is what the needle goes by.";
  return chart;
}

}  // namespace

double Effect::strongest() const {
  double most = 0.0;
  for (const double c : change)
    if (std::isfinite(c)) most = std::max(most, std::abs(c));
  return most;
}

std::vector<OverlapRange> find_overlaps(const std::vector<double>& openings, const std::vector<double>& first,
                                        const std::vector<double>& second, const std::string& first_name,
                                        const std::string& second_name) {
  std::vector<OverlapRange> out;
  bool inside = false;
  for (std::size_t i = 0; i < openings.size(); ++i) {
    const double now = std::min(first[i], second[i]);
    const bool both = now > counts;
    if (both == inside) continue;
    double at = openings[i];
    // Where the first of the two passes the mark.
    if (i > 0) {
      at = both ? openings[i - 1] : openings[i];
      for (const auto* share : {&first, &second})
        if (((*share)[i - 1] > counts) != ((*share)[i] > counts)) {
          const double x = crossing(openings[i - 1], (*share)[i - 1], openings[i], (*share)[i], counts);
          at = both ? std::max(at, x) : std::min(at, x);
        }
    }
    if (both) out.push_back({first_name, second_name, at, openings.back()});
    if (!both) out.back().to = at;
    inside = both;
  }
  return out;
}

std::vector<HandOver> find_hand_overs(const std::vector<double>& openings,
                                      const std::vector<std::vector<double>>& shares,
                                      const std::vector<std::string>& names) {
  std::vector<HandOver> out;
  std::size_t leader = names.size();
  for (std::size_t i = 0; i < openings.size(); ++i) {
    std::size_t most = 0;
    for (std::size_t k = 1; k < names.size(); ++k)
      if (shares[k][i] > shares[most][i]) most = k;
    if (i > 0 && most != leader)
      out.push_back({names[leader], names[most],
                     crossing(openings[i - 1], shares[most][i - 1] - shares[leader][i - 1], openings[i],
                              shares[most][i] - shares[leader][i], 0.0)});
    leader = most;
  }
  return out;
}

StudyResult run_overlap(const ResolvedCase& resolved, const StudyRequest& request, PointRunner& runner) {
  StudyRequest filled = request;
  if (filled.speeds.empty()) filled.speeds = {from_per_minute(3000.0)};
  if (filled.openings.empty())
    filled.openings = {0.0, 0.02, 0.04, 0.06, 0.08, 0.1,  0.13, 0.16,
                       0.2, 0.25, 0.3,  0.4,  0.5,  0.65, 0.8,  1.0};
  SteadyGrid grid = grid_of(resolved, filled);
  if (grid.altitudes.size() > 1)
    throw Error(ErrorKind::input, "overlap looks at one altitude; give one with --altitudes");
  grid.warmer.resize(1);
  const auto adjusters = adjusters_of(resolved);
  // What a size changes is a small difference of two points.
  PointAccuracy finer = request.accuracy;
  finer.tolerance *= 0.2;
  std::vector<PointTask> tasks = map_tasks(resolved.text, {}, grid.places(), finer);
  std::vector<double> richer;
  for (const auto& a : adjusters) {
    richer.push_back(a.moved(a.fitted, a.larger_is_richer ? 1 : -1));
    for (auto& task : map_tasks(resolved.text, a.setting(richer.back()), grid.places(), finer))
      tasks.push_back(std::move(task));
  }
  const auto all = run_steady(runner, tasks);
  const std::size_t n = grid.size(), openings = grid.openings.size();

  StudyResult out;
  out.file = new_result(resolved, request);
  add_grid_axes(out.file, grid);
  add_maps(out.file, {all.begin(), all.begin() + static_cast<std::ptrdiff_t>(n)});
  ResultAxis axis{"adjuster", "1", "what is moved one step to the rich side", {}};
  ResultText names{"adjuster_name", "its name", "adjuster", {}},
      steps{"adjuster_step", "fitted and one step richer", "adjuster", {}};
  ResultVariable change{"lambda_change",
                        "1",
                        "change of trapped lambda by one step to the rich side",
                        {"adjuster", "altitude", "warmer", "speed", "throttle"},
                        {}};
  for (std::size_t k = 0; k < adjusters.size(); ++k) {
    axis.values.push_back(static_cast<double>(k));
    names.values.push_back(adjusters[k].name);
    steps.values.push_back(adjusters[k].text(adjusters[k].fitted) + " to " + adjusters[k].text(richer[k]));
    for (std::size_t i = 0; i < n; ++i)
      change.values.push_back(all[(k + 1) * n + i].trapped - all[i].trapped);
  }
  const bool piston = resolved.bike.carburetor.kind == CarburetorKind::constant_depression;
  for (std::size_t s = 0; s < grid.speeds.size(); ++s) {
    const auto first = all.begin() + static_cast<std::ptrdiff_t>(s * openings);
    const std::vector<SteadyFigures> figures(first, first + static_cast<std::ptrdiff_t>(openings));
    const Shares shares = shares_of(figures);
    std::vector<Effect> effects;
    for (std::size_t k = 0; k < adjusters.size(); ++k) {
      const auto begin = change.values.begin() + static_cast<std::ptrdiff_t>(k * n + s * openings);
      effects.push_back({adjusters[k], richer[k], {begin, begin + static_cast<std::ptrdiff_t>(openings)}});
    }
    out.answer +=
        fmt::format("At {:.0f} 1/min:\n", per_minute(grid.speeds[s])) + shares_text(grid.openings, shares) +
        "\nOne step to the rich side, and how far it reaches:\n" + reach_text(grid.openings, effects);
    if (piston) out.answer += lift_text(grid.openings, figures);
    out.table +=
        fmt::format(
            "\nWhich to touch at {:.0f} 1/min, strongest first (change of lambda for one step richer; the "
            "same step back leans it)\n",
            per_minute(grid.speeds[s])) +
        touch_text(grid.openings, effects) + shares_table(grid.openings, figures, shares, piston);
    out.charts.push_back(shares_chart(grid.openings, shares, grid.speeds[s]));
    out.charts.push_back(effects_chart(grid.openings, effects, grid.speeds[s]));
    if (piston) out.charts.push_back(lift_chart(figures, effects, grid.speeds[s]));
  }
  out.file.axes.push_back(std::move(axis));
  out.file.variables.push_back(std::move(change));
  out.file.texts.push_back(std::move(names));
  out.file.texts.push_back(std::move(steps));
  out.caution = leaner_caution;
  return out;
}

}  // namespace glassbowl::sim
