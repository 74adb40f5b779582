#include "sim/studies/judging.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "sim/api/no_fuel.hpp"
#include "sim/report/lambda_text.hpp"

namespace glassbowl::sim {
namespace {

/// "10, 30 and 100 %", or "1000 to 6500 rpm (12 values)" where they are many.
std::string list_text(const std::vector<double>& values, double unit, const char* format, const char* name) {
  const auto one = [&](double value) { return fmt::format(fmt::runtime(format), value / unit); };
  constexpr std::size_t most_named = 6;
  if (values.size() > most_named)
    return fmt::format("{} to {} {} ({} values)", one(values.front()), one(values.back()), name,
                       values.size());
  std::string text;
  for (std::size_t i = 0; i < values.size(); ++i)
    text += (i == 0 ? "" : i + 1 == values.size() ? " and " : ", ") + one(values[i]);
  return text + " " + name;
}

std::string points(int count) {
  return counted(static_cast<std::size_t>(count), "point");
}

std::string air_text(double warmer) {
  const double kelvin = std::round(warmer);
  if (kelvin == 0.0) return "air of the standard day";
  return fmt::format("air {:.0f} K {} than the standard day", std::abs(kelvin),
                     kelvin > 0.0 ? "warmer" : "colder");
}

}  // namespace

bool pulls(const SteadyFigures& figures) {
  // Also where it would pull if its charges lit.
  return figures.usable() &&
         (figures.torque > 0.0 || (figures.misfires > most_misfires && figures.filling > 0.35));
}

bool lugging(const SteadyFigures& figures) {
  return figures.swing > most_swing;
}

bool two_valued(const SteadyFigures& figures) {
  return std::isfinite(figures.other);
}

double leanest_of(const SteadyFigures& figures) {
  return two_valued(figures) ? std::max(figures.leanest, figures.other_leanest) : figures.leanest;
}

std::string region_of(double opening) {
  return opening < 0.15 ? "small" : opening < 0.6 ? "part" : "full";
}

std::map<std::string, double> usual_targets() {
  return {{"small", 0.93}, {"part", 0.96}, {"full", 0.87}};
}

std::string targets_text(const std::map<std::string, double>& targets) {
  return fmt::format("Target lambda: {:.3g} below 15 % throttle, {:.3g} from 15 to 60 %, {:.3g} above.\n",
                     targets.at("small"), targets.at("part"), targets.at("full"));
}

Finding Judgement::finding() const {
  if (judged > 0) {
    if (lean_margin < 0.0) return Finding::beyond_lean;
    if (misfiring > 0) return Finding::misfires;
    if (lean_margin < search_rounding) return Finding::near_lean;
  }
  if (failed > 0) return Finding::not_known;
  if (judged == 0) return Finding::not_judged;
  return rich_margin < 0.0 ? Finding::beyond_rich : Finding::inside;
}

Judgement judge(const std::vector<Place>& places, const std::vector<SteadyFigures>& figures,
                const std::map<std::string, double>& targets) {
  Judgement out;
  double sum = 0.0;
  for (std::size_t i = 0; i < figures.size(); ++i) {
    const auto& f = figures[i];
    if (!f.converged()) ++out.unsettled;
    const double limit = lean_limit_under_load(f.filling), leanest = leanest_of(f),
                 margin = no_fuel(leanest) ? -INFINITY : limit - leanest;
    if (!f.usable() || std::isnan(margin) || std::isnan(f.torque)) {
      if (out.failed++ == 0) out.failed_at = i;
      continue;
    }
    if (!pulls(f)) {
      ++out.overrun;
      continue;
    }
    if (lugging(f)) {
      ++out.lugging;
      out.lugging_margin = std::min(out.lugging_margin, margin);
      continue;
    }
    if (f.misfires > most_misfires) ++out.misfiring;
    if (f.misfires > out.misfires) {
      out.misfires = f.misfires;
      out.misfires_at = i;
    }
    if (margin < search_rounding) ++out.beyond;
    if (margin < out.lean_margin) {
      out.lean_margin = margin;
      out.lean_at = i;
      out.leanest = leanest;
      out.limit = limit;
    }
    if (f.richest - fouling_limit < out.rich_margin) {
      out.rich_margin = f.richest - fouling_limit;
      out.rich_at = i;
    }
    const double off = f.trapped / targets.at(region_of(places[i].opening)) - 1.0;
    sum += no_fuel(f.trapped) ? INFINITY : off * off;
    ++out.judged;
  }
  out.error = out.judged > 0 ? std::sqrt(sum / out.judged) : INFINITY;
  return out;
}

std::string place_text(const SteadyGrid& grid, std::size_t i) {
  const Place p = grid.place(i);
  std::string text = fmt::format("at {:.0f} rpm and {:.3g} % throttle", per_minute(p.speed), p.opening * 100);
  if (grid.altitudes.size() > 1) text += fmt::format(", {:.0f} m", p.altitude);
  if (grid.warmer.size() > 1) text += ", " + air_text(p.warmer);
  return text;
}

std::string examined_text(const SteadyGrid& grid) {
  const double rpm = from_per_minute(1.0);
  std::string text =
      fmt::format("at {}{}; throttle {}; altitude {}", list_text(grid.speeds, rpm, "{:.0f}", "rpm"),
                  grid.speeds.size() == 1 ? " only" : "", list_text(grid.openings, 0.01, "{:.3g}", "%"),
                  list_text(grid.altitudes, 1.0, "{:.0f}", "m"));
  if (grid.warmer.size() > 1)
    return text + fmt::format("; air {} from the standard day", list_text(grid.warmer, 1.0, "{:+.0f}", "K"));
  return std::round(grid.warmer.front()) == 0.0 ? text : text + "; " + air_text(grid.warmer.front());
}

std::string margin_text(double margin) {
  if (!std::isfinite(margin)) return "not known";
  return fmt::format("{:.3f} ({})", margin, unmeasured_sizes);
}

int margin_digits(const Judgement& j) {
  return j.odds.known() && j.odds.margin_high - j.odds.margin_low > 0.02 ? 2 : 3;
}

std::string lean_margin_text(const Judgement& j) {
  if (!j.odds.known() || !std::isfinite(j.lean_margin)) return margin_text(j.lean_margin);
  const int digits = margin_digits(j);
  return fmt::format("{} (95 %: {} to {})", number_text(j.lean_margin, digits),
                     number_text(j.odds.margin_low, digits), number_text(j.odds.margin_high, digits));
}

std::string probability_text(double probability) {
  if (std::isnan(probability)) return "not known";
  if (probability < 0.01) return "below 1 %";
  if (probability > 0.99) return "above 99 %";
  return fmt::format("{:.0f} %", probability * 100.0);
}

std::string odds_text(const Judgement& j) {
  if (!j.odds.known()) return "";
  return fmt::format(
      "Probability of being beyond the lean limit at one of these points or more: {} ({} bikes drawn from "
      "the "
      "spreads of {}).",
      probability_text(j.odds.probability), j.odds.bikes,
      counted(static_cast<std::size_t>(j.odds.sizes), "size"));
}

std::string error_text(const Judgement& j) {
  return std::isfinite(j.error) ? fmt::format("mean lambda error {:.1f} %", j.error * 100)
                                : std::string("mean lambda error not known");
}

std::string finding_text(const SteadyGrid& grid, const Judgement& j) {
  switch (j.finding()) {
    case Finding::beyond_lean:
      if (!std::isfinite(j.lean_margin))
        return fmt::format("almost no fuel reaches a cylinder under load (lambda above {:.0f}) {}",
                           no_fuel_lambda, place_text(grid, j.lean_at));
      return fmt::format(
          "beyond the lean limit for its load by {:.{}f} {} (lambda {:.3f} in the leanest "
          "cylinder, limit {:.3f})",
          -j.lean_margin, margin_digits(j), place_text(grid, j.lean_at), j.leanest, j.limit);
    case Finding::misfires:
      return fmt::format("misfires under load: {:.0f} % of cycles {}", j.misfires * 100,
                         place_text(grid, j.misfires_at));
    case Finding::near_lean:
      return fmt::format("only {:.3f} from the lean limit for its load {}, where {:.3f} is asked for",
                         j.lean_margin, place_text(grid, j.lean_at), search_rounding);
    case Finding::not_known:
      return fmt::format("{} could not be computed, the first {}", points(j.failed),
                         place_text(grid, j.failed_at));
    case Finding::not_judged:
      return "at none of the points examined does the engine pull at a speed at which it can be run";
    case Finding::beyond_rich:
      return fmt::format("beyond the rich limit ({:.2f}) by {:.3f} {}: plugs may foul", fouling_limit,
                         -j.rich_margin, place_text(grid, j.rich_at));
    case Finding::inside:
      return fmt::format("inside the limits, margin to the lean limit {:.{}f} {}", j.lean_margin,
                         margin_digits(j), place_text(grid, j.lean_at));
  }
  return "";
}

std::string verdict_text(const SteadyGrid& grid, const Judgement& j, const std::string& subject) {
  std::string text = fmt::format("Verdict, {}: ", subject);
  switch (j.finding()) {
    case Finding::inside:
      text += fmt::format("inside the limits at {} {} examined.", j.judged == 1 ? "the" : "all",
                          points(j.judged));
      break;
    case Finding::not_known:
    case Finding::not_judged:
      text += fmt::format("not known: {}.", finding_text(grid, j));
      break;
    case Finding::beyond_lean:
    case Finding::near_lean:
      text += fmt::format("BEYOND A LIMIT: {}.", finding_text(grid, j));
      if (j.beyond > 1)
        text += fmt::format(" {} of {} judged are beyond it or less than {:.3f} from it.", j.beyond,
                            points(j.judged), search_rounding);
      break;
    case Finding::misfires:
      text += fmt::format("BEYOND A LIMIT: {}.", finding_text(grid, j));
      if (j.misfiring > 1) text += fmt::format(" {} of {} judged misfire.", j.misfiring, points(j.judged));
      break;
    case Finding::beyond_rich:
      text += fmt::format("BEYOND A LIMIT: {}.", finding_text(grid, j));
      break;
  }
  if (j.odds.known()) text += " " + odds_text(j);
  text += "\n";
  if (j.judged > 0 && j.lean_margin >= 0.0 && std::isfinite(j.lean_margin))
    text += fmt::format("Least margin to the lean limit: {} {}.\n", lean_margin_text(j),
                        place_text(grid, j.lean_at));
  else if (j.judged > 0 && j.odds.known() && std::isfinite(j.lean_margin))
    text += fmt::format("Least margin to the lean limit, negative beyond it: {}.\n", lean_margin_text(j));
  else if (j.judged > 0)
    text += fmt::format("The figure assumes sizes as in the case; {}.\n", unmeasured_sizes);
  text += fmt::format("Examined: {}.", examined_text(grid));
  if (j.overrun + j.lugging > 0)
    text += fmt::format(" Of {}, {} not judged ({} without load, {} at too low a speed for their load).",
                        points(static_cast<int>(grid.size())), j.overrun + j.lugging, j.overrun, j.lugging);
  return text + "\n";
}

std::string ride_warning(const SteadyGrid& grid, const Judgement& j, const std::string& subject) {
  if (j.no_danger() || j.finding() == Finding::not_judged) return "";
  return fmt::format("DO NOT RIDE {}: {}.\n", subject, finding_text(grid, j));
}

std::string lugging_text(const Judgement& judgement) {
  if (judgement.lugging == 0) return "";
  std::string text = fmt::format(
      "{} at low speed {} not judged: the crank would lose more than {:.0f} % of its speed "
      "between two firings; these are not steady operating points.",
      points(judgement.lugging), judgement.lugging == 1 ? "is" : "are", most_swing * 100);
  if (judgement.lugging_margin < 0.0 && std::isfinite(judgement.lugging_margin))
    text += fmt::format(" Lambda there is up to {:.2f} beyond the lean limit: do not lug this engine.",
                        -judgement.lugging_margin);
  return text + "\n";
}

}  // namespace glassbowl::sim
