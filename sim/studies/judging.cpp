#include "sim/studies/judging.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace glassbowl::sim {
namespace {

constexpr double missing = 0.02;  // share of charges from which on a point misfires

}  // namespace

bool pulls(const SteadyFigures& figures) {
  // Also where it would pull if its charges lit.
  return figures.usable() && (figures.torque > 0.0 || (figures.misfires > missing && figures.filling > 0.35));
}

bool lugging(const SteadyFigures& figures) {
  return figures.swing > most_swing;
}

std::string region_of(double opening) {
  return opening < 0.15 ? "small" : opening < 0.6 ? "part" : "full";
}

std::map<std::string, double> usual_targets() {
  return {{"small", 0.93}, {"part", 0.96}, {"full", 0.87}};
}

Judgement judge(const std::vector<Place>& places, const std::vector<SteadyFigures>& figures,
                const std::map<std::string, double>& targets) {
  Judgement out;
  double sum = 0.0;
  for (std::size_t i = 0; i < figures.size(); ++i) {
    const auto& f = figures[i];
    if (!f.converged()) ++out.unsettled;
    if (!f.usable()) {
      ++out.failed;
      continue;
    }
    if (!pulls(f)) continue;
    const double margin = lean_limit(f.filling) - f.leanest;
    if (lugging(f)) {
      ++out.lugging;
      out.lugging_margin = std::min(out.lugging_margin, margin);
      continue;
    }
    if (f.misfires > missing) ++out.misfiring;
    if (margin < out.lean_margin) {
      out.lean_margin = margin;
      out.lean_at = i;
    }
    if (f.richest - fouling_limit < out.rich_margin) {
      out.rich_margin = f.richest - fouling_limit;
      out.rich_at = i;
    }
    const double off = f.trapped / targets.at(region_of(places[i].opening)) - 1.0;
    sum += off * off;
    ++out.judged;
  }
  out.error = out.judged > 0 ? std::sqrt(sum / out.judged) : INFINITY;
  return out;
}

std::string place_text(const SteadyGrid& grid, std::size_t i) {
  const Place p = grid.place(i);
  std::string text =
      fmt::format("at {:.0f} 1/min and {:.3g} % throttle", per_minute(p.speed), p.opening * 100.0);
  if (grid.altitudes.size() > 1) text += fmt::format(", {:.0f} m", p.altitude);
  if (grid.warmer.size() > 1) text += fmt::format(", {:+.0f} K", p.warmer);
  return text;
}

std::string lugging_text(const Judgement& verdict) {
  if (verdict.lugging == 0) return "";
  std::string text = fmt::format(
      "{} points at low speed are not judged: the crank would lose more than {:.0f} % of its speed between "
      "two "
      "firings, and nobody can hold it there.",
      verdict.lugging, most_swing * 100);
  if (verdict.lugging_margin < 0.0)
    text += fmt::format(" Lambda there goes up to {:.2f} beyond the lean limit: do not lug this engine.",
                        -verdict.lugging_margin);
  return text + "\n";
}

}  // namespace glassbowl::sim
