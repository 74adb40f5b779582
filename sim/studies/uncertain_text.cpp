#include "sim/studies/uncertain_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/bike/provenance.hpp"
#include "sim/report/lambda_text.hpp"
#include "sim/report/wrap_text.hpp"
#include "sim/run/summary.hpp"

namespace glassbowl::sim {
namespace {

constexpr std::size_t most_named = 5;

const char* words_of(const std::string& region) {
  return region == "small" ? "below 15 % throttle" : region == "part" ? "from 15 to 60 %" : "above 60 %";
}

/// Half of the widest 95 % range of lambda in each region that has one.
std::map<std::string, double> half_ranges(const UncertainPoints& points) {
  std::map<std::string, double> out;
  for (std::size_t j = 0; j < points.places().size(); ++j) {
    const Range95 range = points.lambda_range(j);
    if (!std::isfinite(range.high - range.low)) continue;
    double& widest = out[region_of(points.places()[j].opening)];
    widest = std::max(widest, 0.5 * (range.high - range.low));
  }
  return out;
}

}  // namespace

std::string what_matters_text(const UncertainPoints& points) {
  const auto all = points.contributions();
  if (points.bikes() == 0 || all.empty()) return "";
  if (!(all.front().share_lambda > 0.0))
    return fmt::format("\nWhat matters: {} drawn bikes are too few to tell; give more with --uncertain.\n",
                       points.bikes());
  std::string text = fmt::format(
      "\nWhat matters: the uncertain sizes that contribute most. Measure these first.\n{}",
      wrapped(
          fmt::format(
              "(share of the variance, by slopes fitted to {} drawn bikes, which explain {:.0f} % of "
              "that of lambda; of the least margin by Sobol's total indices of that fit{})",
              points.bikes(), points.explained() * 100.0,
              points.bikes() <= points.sizes() ? "; with fewer bikes than uncertain sizes it is rough" : ""),
          "", ""));
  text += fmt::format("  {:<36} {:>14}  {:>10}  {:>6}  {:>6}\n", "size", "value", "known to +-", "lambda",
                      "margin");
  for (std::size_t i = 0; i < std::min(most_named, all.size()); ++i) {
    const Contribution& c = all[i];
    if (!(c.share_lambda > 0.0)) break;
    const std::size_t reason = c.spread.find(" (");
    std::string width = c.spread.substr(0, reason);
    width.erase(0, std::min(width.find(' '), width.size()));  // without the sign
    std::string value = c.value;
    std::erase(value, '"');
    if (value.size() > 14) value = value.substr(0, 11) + "...";
    text += fmt::format("  {:<36} {:>14}  {:>11}  {:>4.0f} %  {:>4.0f} %\n", c.key, value, width,
                        c.share_lambda * 100.0, c.share_margin * 100.0);
  }
  if (points.refused() > 0)
    text += fmt::format("  {} left out, whose sizes do not go together.\n",
                        counted(static_cast<std::size_t>(points.refused()), "drawn bike"));
  return text;
}

std::string named_text(const UncertainPoints& points) {
  const auto all = points.contributions();
  std::string text;
  for (std::size_t i = 0; i < std::min(most_named, all.size()); ++i)
    if (all[i].share_lambda > 0.0)
      text += fmt::format(
          "{} = {}, {}: {:.0f} % of the variance of lambda, {:.0f} % of that of the lean margin.\n",
          all[i].key, all[i].value, all[i].spread, all[i].share_lambda * 100.0, all[i].share_margin * 100.0);
  return text.empty() ? text : "Measure these first:\n" + text;
}

std::string sure_text(const UncertainPoints& points) {
  std::string text;
  for (const auto& region : {"small", "part", "full"}) {
    const auto ranges = half_ranges(points);
    const auto found = ranges.find(region);
    if (found == ranges.end()) continue;
    text += fmt::format("{}to {} {}", text.empty() ? "Lambda is sure " : ", ",
                        number_text(found->second, found->second < 0.0095 ? 3 : 2), words_of(region));
  }
  return text.empty() ? text : text + " (95 %).\n";
}

std::string rests_on_text(const ResolvedCase& resolved, const UncertainPoints& points) {
  const Provenance p = provenance_of(resolved);
  return fmt::format(
      "It rests on {} values of its own, {} borrowed and {} defaults; {} of them are not exact.\n{}", p.own,
      p.borrowed_in_all(), p.defaults, points.sizes(), sure_text(points));
}

std::string ranges_text(const UncertainPoints& points, const std::vector<SteadyFigures>& given) {
  std::string text;
  for (std::size_t j = 0; j < points.places().size(); ++j) {
    const Range95 range = points.lambda_range(j);
    const Place& p = points.places()[j];
    if (!std::isfinite(range.high - range.low)) continue;
    const int digits = range.high - range.low > 0.02 ? 2 : 3;
    text +=
        fmt::format("  {:.0f} rpm, {:.3g} % throttle, {:.0f} m: lambda {} ({} to {})\n", per_minute(p.speed),
                    p.opening * 100.0, p.altitude, lambda_text(given[j].trapped, digits),
                    lambda_text(range.low, digits), lambda_text(range.high, digits));
  }
  return text.empty() ? text : "In-cylinder lambda and its 95 % range at the points that decide:\n" + text;
}

Chart band_chart(const SteadyGrid& grid, const std::vector<SteadyFigures>& figures,
                 const UncertainPoints& points, std::size_t altitude, const std::string& name,
                 const std::string& title) {
  Chart chart;
  chart.name = name;
  chart.title = title;
  chart.x_label = "throttle opening [%]";
  chart.y_label = "in-cylinder lambda";
  chart.square_root_x = true;
  const std::size_t speeds = grid.speeds.size(), lines = std::min<std::size_t>(3, speeds);
  for (std::size_t k = 0; k < lines; ++k) {
    const std::size_t s = lines == 1 ? 0 : k * (speeds - 1) / (lines - 1);
    ChartLine line{fmt::format("{:.0f} rpm", per_minute(grid.speeds[s])), {}, true, {}};
    for (std::size_t o = 0; o < grid.openings.size(); ++o) {
      const std::size_t i = grid.index(altitude, 0, s, o);
      const double lambda = figures[i].trapped;
      const Range95 range = points.lambda_range_near(grid.place(i), lambda);
      const bool drawn = pulls(figures[i]) && !no_fuel(lambda);
      line.points.emplace_back(grid.openings[o] * 100.0, drawn ? lambda : NAN);
      line.band.emplace_back(drawn ? range.low : NAN, drawn ? range.high : NAN);
    }
    chart.lines.push_back(std::move(line));
  }
  chart.caption =
      "In-cylinder lambda where the engine pulls. In the band lie 95 % of the bikes that this one may be, by "
      "how "
      "well its sizes are known.";
  return chart;
}

void add_contributions(ResultFile& file, const UncertainPoints& points) {
  const auto all = points.contributions();
  if (points.bikes() == 0 || all.empty()) return;
  ResultAxis axis{
      "uncertain_size", "1", "number of a size that is not exact, largest contribution first", {}};
  ResultText keys{"uncertain_key", "key of the case", axis.name, {}},
      values{"uncertain_value", "its value", axis.name, {}},
      spreads{"uncertain_spread", "how well it is known, 95 %", axis.name, {}};
  ResultVariable lambda{"share_lambda", "1", "share of the variance of in-cylinder lambda", {axis.name}, {}},
      margin{"share_margin",
             "1",
             "share of the variance of the least margin to the lean limit",
             {axis.name},
             {}};
  for (std::size_t i = 0; i < all.size(); ++i) {
    axis.values.push_back(static_cast<double>(i + 1));
    keys.values.push_back(all[i].key);
    values.values.push_back(all[i].value);
    spreads.values.push_back(all[i].spread);
    lambda.values.push_back(all[i].share_lambda);
    margin.values.push_back(all[i].share_margin);
  }
  file.axes.push_back(std::move(axis));
  for (auto* v : {&lambda, &margin}) file.variables.push_back(std::move(*v));
  for (auto* t : {&keys, &values, &spreads}) file.texts.push_back(std::move(*t));
}

void add_ranges(ResultFile& file, const SteadyGrid& grid, const std::vector<SteadyFigures>& figures,
                const UncertainPoints& points, const std::string& prefix) {
  const std::vector<std::string> axes{"altitude", "warmer", "speed", "throttle"};
  ResultVariable low{
      prefix + "lambda_low", "1", "lower end of the 95 % range of in-cylinder lambda", axes, {}},
      high{prefix + "lambda_high", "1", "upper end of it", axes, {}};
  for (std::size_t i = 0; i < figures.size(); ++i) {
    const Range95 range = points.lambda_range_near(grid.place(i), figures[i].trapped);
    low.values.push_back(range.low);
    high.values.push_back(range.high);
  }
  for (auto* v : {&low, &high}) file.variables.push_back(std::move(*v));
}

}  // namespace glassbowl::sim
