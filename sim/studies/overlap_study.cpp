#include "sim/studies/overlap_study.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>

#include "sim/api/error.hpp"
#include "sim/report/lambda_text.hpp"
#include "sim/report/wrap_text.hpp"
#include "sim/run/summary.hpp"
#include "sim/studies/judging.hpp"
#include "sim/studies/jumps.hpp"
#include "sim/studies/point_marks.hpp"
#include "sim/studies/steady_map.hpp"

namespace glassbowl::sim {
namespace {

constexpr double counts = 0.1;            // share from which on a circuit takes part
constexpr double effective_share = 0.25;  // of its strongest effect: where an adjuster is effective
constexpr double hardly = 0.003;          // [-] lambda: a smaller change is none
constexpr double jump = 0.05;             // [-] lambda from one opening to the next that is worth a line

struct Shares {
  std::vector<double> idle, ports, main;
};

Shares shares_of(const std::vector<SteadyFigures>& figures) {
  Shares out;
  for (const auto& f : figures) {
    const double fuel = no_fuel(f.trapped) ? NAN : f.fuel;  // shares of next to nothing are none
    out.idle.push_back(f.idle / fuel);
    out.ports.push_back(f.ports / fuel);
    out.main.push_back(f.main / fuel);
  }
  return out;
}

/// Where the straight line between two points crosses `level`.
double crossing(double x0, double y0, double x1, double y1, double level) {
  return x0 + (x1 - x0) * (level - y0) / (y1 - y0);
}

std::string percent(double opening) {
  return fmt::format("{:.3g} %", opening * 100.0);
}

/// The ends of a range lie between points. They are rounded inwards, so that no row of the table contradicts
/// them.
std::string rounded_up(double opening) {
  return fmt::format("{:.1f} %", std::ceil(std::max(0.0, opening * 1e3 - 1e-6)) * 0.1);
}
std::string rounded_down(double opening) {
  return fmt::format("{:.1f} %", std::floor(opening * 1e3 + 1e-6) * 0.1);
}

std::vector<OverlapRange> all_overlaps(const std::vector<double>& openings, const Shares& s) {
  auto out = find_overlaps(openings, s.idle, s.ports, "idle outlet", "transfer ports");
  for (auto more : {find_overlaps(openings, s.ports, s.main, "transfer ports", "main nozzle"),
                    find_overlaps(openings, s.idle, s.main, "idle outlet", "main nozzle")})
    out.insert(out.end(), more.begin(), more.end());
  return out;
}

/// Openings at which a change says nothing, as one of its two sides has no fuel.
std::string openings_without_fuel(const std::vector<double>& openings,
                                  const std::vector<SteadyFigures>& figures, const Effect& e) {
  std::vector<bool> none;
  for (std::size_t i = 0; i < openings.size(); ++i)
    none.push_back(no_fuel(figures[i].trapped) || no_fuel(e.richer[i].trapped));
  return openings_where(openings, none);
}

std::string reach_text(const std::vector<double>& openings, const std::vector<SteadyFigures>& figures,
                       const std::vector<Effect>& effects) {
  std::string text;
  for (const auto& e : effects) {
    std::string without = openings_without_fuel(openings, figures, e);
    if (!without.empty()) without = "; no fuel at " + without;
    if (std::none_of(e.change.begin(), e.change.end(), [](double c) { return std::isfinite(c); })) {
      text += fmt::format("  {:<15} {} to {}: not known{}\n", e.adjuster.name,
                          e.adjuster.text(e.adjuster.fitted), e.adjuster.text(e.value), without);
      continue;
    }
    if (!(e.strongest() >= hardly)) {
      text += fmt::format("  {:<15} {} to {}: changes lambda by less than {} everywhere{}\n", e.adjuster.name,
                          e.adjuster.text(e.adjuster.fitted), e.adjuster.text(e.value), hardly,
                          without.empty() ? "" : " else" + without);
      continue;
    }
    std::size_t best = 0;
    std::vector<bool> effective;
    for (std::size_t i = 0; i < openings.size(); ++i) {
      if (std::abs(e.change[i]) > std::abs(e.change[best]) || std::isnan(e.change[best])) best = i;
      effective.push_back(std::abs(e.change[i]) >= effective_share * e.strongest());
    }
    text += fmt::format("  {:<15} {} to {}: lambda {:+.3f} at {}, effective at {}{}\n", e.adjuster.name,
                        e.adjuster.text(e.adjuster.fitted), e.adjuster.text(e.value), e.change[best],
                        percent(openings[best]), openings_where(openings, effective), without);
  }
  return text;
}

std::string touch_text(const std::vector<double>& openings, const std::vector<SteadyFigures>& figures,
                       const std::vector<Effect>& effects) {
  std::string text;
  for (std::size_t i = 0; i < openings.size(); ++i) {
    if (const auto& f = figures[i]; !f.usable() || no_fuel(f.trapped)) {
      text += fmt::format("  {:>5}  {}\n", percent(openings[i]), f.usable() ? "no fuel" : "not computed");
      continue;
    }
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
                        list.empty() ? fmt::format("no step changes lambda by {}", hardly) : list);
  }
  return text;
}

/// Where the lean limit is one: on the overrun, and where the engine cannot be held, it is none.
bool judged(const SteadyFigures& f) {
  return pulls(f) && !lugging(f);
}

std::string shares_table(const std::vector<double>& openings, const std::vector<SteadyFigures>& figures,
                         const Shares& s, bool piston) {
  std::string text =
      "\nIn-cylinder lambda and fuel share by circuit\n" + wrapped(fmt::format("({})", signs_text()), "", "");
  text += "  throttle  lambda     leanest  limit  idle outlet  transfer ports  main nozzle";
  text += piston ? "  piston lift\n" : "\n";
  for (std::size_t i = 0; i < openings.size(); ++i) {
    const auto& f = figures[i];
    if (!f.usable()) {
      text += fmt::format("  {:>8}  not computed\n", percent(openings[i]));
      continue;
    }
    text += fmt::format("  {:>8}  {:>7}{:<4}{:>7}  {:>5}  {:>9} %  {:>12} %  {:>9} %{}\n",
                        percent(openings[i]), lambda_text(f.trapped), signs_behind(f), lambda_text(f.leanest),
                        judged(f) ? fmt::format("{:.2f}", lean_limit_under_load(f.filling)) : "-",
                        number_text(s.idle[i] * 100, 1), number_text(s.ports[i] * 100, 1),
                        number_text(s.main[i] * 100, 1),
                        piston ? fmt::format("  {:>8.1f} mm", f.lift * 1e3) : "");
  }
  return text;
}

/// A needle works by the piston's lift, which a throttle opening alone does not tell.
std::string lift_text(const std::vector<double>& openings, const std::vector<SteadyFigures>& figures) {
  const std::size_t middle = openings.size() / 2;
  return fmt::format(
      "\nThe needle goes with the piston, not with the throttle. Piston lift: {:.1f} mm at {}, {:.1f} mm "
      "at\n{}, "
      "{:.1f} mm at {}. The narrower the gap that the needle leaves, the more a step of needle or\nneedle "
      "jet "
      "changes.\n",
      figures.front().lift * 1e3, percent(openings.front()), figures[middle].lift * 1e3,
      percent(openings[middle]), figures.back().lift * 1e3, percent(openings.back()));
}

constexpr double above_all = 104.0;  // [%] where a stacked chart has its signs

Chart shares_chart(const std::vector<double>& openings, const std::vector<SteadyFigures>& figures,
                   const Shares& s, double speed) {
  Chart chart;
  chart.name = fmt::format("shares_{:.0f}rpm", per_minute(speed));
  chart.title = fmt::format("Fuel share by circuit at {:.0f} rpm", per_minute(speed));
  chart.x_label = "throttle opening [%]";
  chart.y_label = "share of all fuel [%]";
  chart.kind = ChartKind::stacked;
  chart.lines = {{"idle outlet", {}, true}, {"transfer ports", {}, true}, {"main nozzle", {}, true}};
  for (std::size_t i = 0; i < openings.size(); ++i) {
    chart.lines[0].points.emplace_back(openings[i] * 100, s.idle[i] * 100);
    chart.lines[1].points.emplace_back(openings[i] * 100, s.ports[i] * 100);
    chart.lines[2].points.emplace_back(openings[i] * 100, s.main[i] * 100);
    add_marks(chart, figures[i], openings[i] * 100, above_all);
  }
  chart.square_root_x = true;
  chart.caption = "Fuel share of each circuit, one on top of the other.";
  return chart;
}

/// Lambda as the table has it, beside the limit that decides which points are marked.
Chart lambda_over_throttle(const std::vector<double>& openings, const std::vector<SteadyFigures>& figures,
                           double speed) {
  Chart chart;
  chart.name = fmt::format("lambda_{:.0f}rpm", per_minute(speed));
  chart.title = fmt::format("In-cylinder lambda at {:.0f} rpm", per_minute(speed));
  chart.x_label = "throttle opening [%]";
  chart.y_label = "lambda";
  chart.square_root_x = true;
  chart.lines = {
      {"mean of all cylinders", {}, true}, {"leanest cylinder", {}, true}, {"lean limit", {}, false}};
  bool clipped = false;
  for (std::size_t i = 0; i < openings.size(); ++i) {
    const auto& f = figures[i];
    const double x = openings[i] * 100;
    chart.lines[0].points.emplace_back(x, drawn_lambda(f.trapped));
    chart.lines[1].points.emplace_back(x, drawn_lambda(f.leanest));
    clipped = clipped || f.leanest > highest_drawn_lambda;
    chart.lines[2].points.emplace_back(x, judged(f) ? lean_limit_under_load(f.filling) : NAN);
    add_marks(chart, f, x, drawn_lambda(f.leanest));
  }
  chart.caption =
      "In-cylinder lambda over the throttle, and the lean limit for the load wherever the engine pulls.";
  if (clipped)
    chart.caption += fmt::format(" Lambda above {:.0f}, and no fuel at all, is drawn at {:.0f}.",
                                 highest_drawn_lambda, highest_drawn_lambda);
  return chart;
}

/// Effects over `x`, one value for each point.
Chart effects_chart(const std::vector<double>& x, const std::vector<SteadyFigures>& figures,
                    const std::vector<Effect>& effects, const std::string& name) {
  Chart chart;
  chart.name = name;
  chart.y_label = "change of lambda";
  for (const auto& e : effects) {
    ChartLine line{e.adjuster.name, {}, true};
    for (std::size_t i = 0; i < x.size(); ++i) line.points.emplace_back(x[i], e.change[i]);
    chart.lines.push_back(std::move(line));
  }
  for (std::size_t i = 0; i < x.size(); ++i) add_marks(chart, figures[i], x[i], 0.0);
  return chart;
}

Chart effects_by_throttle(const std::vector<double>& openings, const std::vector<SteadyFigures>& figures,
                          const std::vector<Effect>& effects, double speed) {
  std::vector<double> x;
  for (const double o : openings) x.push_back(o * 100.0);
  Chart chart = effects_chart(x, figures, effects, fmt::format("effects_{:.0f}rpm", per_minute(speed)));
  chart.title = fmt::format("Effect of one size or step richer at {:.0f} rpm", per_minute(speed));
  chart.x_label = "throttle opening [%]";
  chart.square_root_x = true;
  chart.caption =
      "Change of lambda for one size or step richer of each jet, screw and level. A marked point is one of "
      "the carburetor as fitted.";
  return chart;
}

Chart effects_by_lift(const std::vector<SteadyFigures>& figures, const std::vector<Effect>& effects,
                      double speed) {
  std::vector<double> lifts;
  for (const auto& f : figures) lifts.push_back(f.lift * 1e3);
  Chart chart =
      effects_chart(lifts, figures, effects, fmt::format("effects_by_lift_{:.0f}rpm", per_minute(speed)));
  chart.title =
      fmt::format("Effect of one size or step richer, by piston lift, at {:.0f} rpm", per_minute(speed));
  chart.x_label = "piston lift [mm]";
  chart.caption = "The same over the piston's lift, which moves the needle.";
  return chart;
}

/// The circuit whose fuel an adjuster meters, and that circuit's share of all fuel.
struct OwnCircuit {
  const char* name;
  double (SteadyFigures::*share)() const;
};

std::optional<OwnCircuit> circuit_of(const Adjuster& a) {
  if (a.id == "slow_jet" || a.id == "slow_air_jet" || a.id == "screw")
    return OwnCircuit{"slow circuit", &SteadyFigures::slow_share};
  if (a.id == "main_jet" || a.id == "main_air_jet" || a.id.starts_with("needle"))
    return OwnCircuit{"main nozzle", &SteadyFigures::main_share};
  return std::nullopt;
}

}  // namespace

double Effect::strongest() const {
  double most = 0.0;
  for (const double c : change)
    if (std::isfinite(c)) most = std::max(most, std::abs(c));
  return most;
}

std::string openings_where(const std::vector<double>& openings, const std::vector<bool>& holds) {
  std::vector<std::string> parts;
  for (std::size_t i = 0; i < openings.size(); ++i) {
    if (!holds[i]) continue;
    std::size_t last = i;
    while (last + 1 < openings.size() && holds[last + 1]) ++last;
    parts.push_back(last == i ? percent(openings[i])
                              : fmt::format("{:.3g} to {}", openings[i] * 100.0, percent(openings[last])));
    i = last;
  }
  std::string text;
  for (std::size_t k = 0; k < parts.size(); ++k)
    text += (k == 0 ? "" : k + 1 == parts.size() ? " and " : ", ") + parts[k];
  return text;
}

std::string shares_text(const std::vector<double>& all_openings,
                        const std::vector<SteadyFigures>& all_figures) {
  std::vector<double> openings;  // of points that are known
  std::vector<SteadyFigures> figures;
  for (std::size_t i = 0; i < all_openings.size(); ++i)
    if (all_figures[i].usable() && all_figures[i].fuel > 0.0 && !no_fuel(all_figures[i].trapped)) {
      openings.push_back(all_openings[i]);
      figures.push_back(all_figures[i]);
    }
  const Shares s = shares_of(figures);
  std::string text;
  for (const auto& h :
       find_hand_overs(openings, {s.idle, s.ports, s.main}, {"idle outlet", "transfer ports", "main nozzle"}))
    text += fmt::format("Dominant circuit from {} throttle on: {}, before: {} (points: {}, {}).\n",
                        rounded_up(h.at), h.to, h.from, percent(h.before), percent(h.after));
  for (const auto& o : all_overlaps(openings, s))
    text += fmt::format("From {} to {} the {} and the {} each deliver over 10 % of the fuel.\n",
                        rounded_up(o.from), rounded_down(o.to), o.first, o.second);
  return text;
}

std::string lean_text(const std::vector<double>& openings, const std::vector<SteadyFigures>& figures) {
  const std::size_t n = openings.size();
  std::vector<bool> beyond(n), under_load(n), failed(n), misfires(n);
  const auto margin = [&](std::size_t i) {
    return lean_limit_under_load(figures[i].filling) - leanest_of(figures[i]);
  };
  std::optional<std::size_t> worst, jumps;
  for (std::size_t i = 0; i < n; ++i) {
    const auto marks = marks_of(figures[i]);
    const auto has = [&](PointMark mark) {
      return std::find(marks.begin(), marks.end(), mark) != marks.end();
    };
    failed[i] = !figures[i].usable();
    misfires[i] = has(PointMark::misfires);
    under_load[i] = judged(figures[i]);
    beyond[i] = has(PointMark::beyond_limit);
    if (under_load[i] && (!worst || margin(i) < margin(*worst))) worst = i;
    const auto step = [&](std::size_t k) {
      return std::abs(lambda_change(figures[k - 1].trapped, figures[k].trapped));
    };
    if (i > 0 && step(i) >= jump && (!jumps || step(i) > step(*jumps))) jumps = i;
  }
  std::string text;
  if (!worst)
    text += "Not judged by the lean limit: the engine pulls at none of these points.\n";
  else if (beyond[*worst])
    text += fmt::format(
        "{} THE LEAN LIMIT at {} throttle. Worst at {}: leanest cylinder\n{}, limit {:.2f} for its load. "
        "Make it richer there before anything else.\n",
        margin(*worst) < 0.0 ? "BEYOND" : "TOO NEAR", openings_where(openings, beyond),
        percent(openings[*worst]), lambda_text(leanest_of(figures[*worst])),
        lean_limit_under_load(figures[*worst].filling));
  else
    text += fmt::format(
        "Inside the lean limit at the points under load ({} throttle). Smallest margin {:.3f}, at {}.\n",
        openings_where(openings, under_load), margin(*worst), percent(openings[*worst]));
  if (const auto where = openings_where(openings, failed); !where.empty())
    text += fmt::format("Not known at {}: could not be computed.\n", where);
  if (const auto where = openings_where(openings, misfires); !where.empty())
    text += fmt::format("Misfires at {}.\n", where);
  if (jumps)
    text += fmt::format("Largest change between neighbouring points: lambda {} at {}, {} at {}.\n",
                        lambda_text(figures[*jumps - 1].trapped), percent(openings[*jumps - 1]),
                        lambda_text(figures[*jumps].trapped), percent(openings[*jumps]));
  return text;
}

std::string no_effect_text(const std::vector<double>& openings, const std::vector<SteadyFigures>& figures,
                           const std::vector<Effect>& effects, SlowSource slow_source) {
  struct Group {  // adjusters of one circuit without effect at the same openings
    OwnCircuit circuit;
    std::vector<const Effect*> effects;
    std::size_t at;  // where the circuit's share is largest
  };
  std::map<std::pair<std::string, std::string>, Group> groups;
  for (const auto& e : effects) {
    const auto circuit = circuit_of(e.adjuster);
    if (!circuit || e.value == e.adjuster.fitted) continue;
    const auto share = [&](std::size_t i) { return (figures[i].*circuit->share)(); };
    std::vector<bool> none(openings.size());
    std::optional<std::size_t> most;
    for (std::size_t i = 0; i < openings.size(); ++i) {
      none[i] = std::abs(e.change[i]) < hardly && share(i) > counts;
      if (none[i] && (!most || share(i) > share(*most))) most = i;
    }
    if (!most) continue;
    groups.try_emplace({circuit->name, openings_where(openings, none)}, Group{*circuit, {}, *most})
        .first->second.effects.push_back(&e);
  }
  std::string text;
  for (const auto& [names, group] : groups) {
    const auto& [circuit, where] = names;
    const std::size_t i = group.at;
    const Effect& e = *group.effects.front();
    std::vector<std::string> who;
    for (const Effect* each : group.effects) who.push_back(each->adjuster.name);
    text += fmt::format(
        "No effect (lambda changes by less than {}) at {}: {}.\n  The {} delivers up to {:.1f} % of the fuel "
        "there.",
        hardly, where, fmt::join(who, ", "), circuit, (figures[i].*group.circuit.share)() * 100);
    if (group.circuit.share == &SteadyFigures::slow_share && slow_source == SlowSource::well)
      text += fmt::format(
          "\n  Its fuel passes the main jet first: once the main nozzle flows, that jet meters the sum of "
          "both,\n"
          "  and such a step only moves fuel from one to the other.\n  At {} with the {} of {}: slow circuit "
          "{:.1f} to {:.1f} %, main nozzle {:.1f} to {:.1f} %.",
          percent(openings[i]), e.adjuster.name, e.adjuster.text(e.value), figures[i].slow_share() * 100,
          e.richer[i].slow_share() * 100, figures[i].main_share() * 100, e.richer[i].main_share() * 100);
    else if (e.adjuster.id == "main_jet" && figures[i].lift > 0.0)
      text += " The needle in its jet meters the fuel there.";
    text += "\n";
  }
  return text;
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
                              shares[most][i] - shares[leader][i], 0.0),
                     openings[i - 1], openings[i]});
    leader = most;
  }
  return out;
}

StudyResult run_overlap(const ResolvedCase& resolved, const StudyRequest& request,
                        PointScheduler& scheduler) {
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
  auto all = run_steady(scheduler, tasks);
  const std::size_t n = grid.size(), openings = grid.openings.size();
  std::vector<SteadyFigures> fitted(all.begin(), all.begin() + static_cast<std::ptrdiff_t>(n));
  const Jumps jumps = mark_jumps(scheduler, resolved.text, {}, grid, finer, fitted);
  std::copy(fitted.begin(), fitted.end(), all.begin());

  StudyResult out;
  out.file = new_result(resolved, request);
  add_grid_axes(out.file, grid);
  add_maps(out.file, fitted);
  const Judgement verdict = judge(grid.places(), fitted, usual_targets());
  out.verdict = verdict_text(grid, verdict, "as fitted");
  ResultAxis axis{"adjuster", "1", "what is moved one step to the rich side", {}};
  ResultText names{"adjuster_name", "its name", "adjuster", {}},
      steps{"adjuster_step", "fitted and one step richer", "adjuster", {}};
  ResultVariable change{"lambda_change",
                        "1",
                        "change of in-cylinder lambda by one step to the rich side",
                        {"adjuster", "altitude", "warmer", "speed", "throttle"},
                        {}};
  for (std::size_t k = 0; k < adjusters.size(); ++k) {
    axis.values.push_back(static_cast<double>(k));
    names.values.push_back(adjusters[k].name);
    steps.values.push_back(adjusters[k].text(adjusters[k].fitted) + " to " + adjusters[k].text(richer[k]));
    for (std::size_t i = 0; i < n; ++i)
      change.values.push_back(lambda_change(all[i].trapped, all[(k + 1) * n + i].trapped));
  }
  const bool piston = resolved.bike.carburetor.kind == CarburetorKind::constant_depression;
  for (std::size_t s = 0; s < grid.speeds.size(); ++s) {
    const auto first = all.begin() + static_cast<std::ptrdiff_t>(s * openings);
    const std::vector<SteadyFigures> figures(first, first + static_cast<std::ptrdiff_t>(openings));
    const Shares shares = shares_of(figures);
    std::vector<Effect> effects;
    for (std::size_t k = 0; k < adjusters.size(); ++k) {
      const auto from = static_cast<std::ptrdiff_t>(s * openings),
                 to = from + static_cast<std::ptrdiff_t>(openings);
      const auto changes = change.values.begin() + static_cast<std::ptrdiff_t>(k * n);
      const auto points = all.begin() + static_cast<std::ptrdiff_t>((k + 1) * n);
      effects.push_back(
          {adjusters[k], richer[k], {changes + from, changes + to}, {points + from, points + to}});
    }
    out.answer += fmt::format("{}At {:.0f} rpm, {:.0f} m, {} from {} to {} throttle:\n", s == 0 ? "" : "\n",
                              per_minute(grid.speeds[s]), grid.altitudes.front(), counted(openings, "point"),
                              percent(grid.openings.front()), percent(grid.openings.back())) +
                  lean_text(grid.openings, figures) + shares_text(grid.openings, figures) +
                  "\nOne size or step richer, and where it is effective:\n" +
                  reach_text(grid.openings, figures, effects) +
                  no_effect_text(grid.openings, figures, effects, resolved.bike.carburetor.slow_source);
    if (piston) out.answer += lift_text(grid.openings, figures);
    out.table += fmt::format(
                     "\nWhich to change at {:.0f} rpm, strongest first (change of lambda for one size or "
                     "step richer)\n",
                     per_minute(grid.speeds[s])) +
                 touch_text(grid.openings, figures, effects) +
                 shares_table(grid.openings, figures, shares, piston);
    out.charts.push_back(shares_chart(grid.openings, figures, shares, grid.speeds[s]));
    out.charts.push_back(lambda_over_throttle(grid.openings, figures, grid.speeds[s]));
    out.charts.push_back(effects_by_throttle(grid.openings, figures, effects, grid.speeds[s]));
    if (piston) out.charts.push_back(effects_by_lift(figures, effects, grid.speeds[s]));
  }
  if (const std::string text = jumps_text(grid, fitted, jumps); !text.empty()) out.answer += "\n" + text;
  out.file.axes.push_back(std::move(axis));
  out.file.variables.push_back(std::move(change));
  out.file.texts.push_back(std::move(names));
  out.file.texts.push_back(std::move(steps));
  out.caution = (verdict.no_danger() ? "" : ride_warning(grid, verdict, "it as fitted")) + leaner_caution +
                leaner_than_fitted_text(adjusters);
  return out;
}

}  // namespace glassbowl::sim
