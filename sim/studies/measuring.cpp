#include "sim/studies/measuring.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "models/constants.hpp"
#include "sim/api/error.hpp"
#include "sim/bike/provenance.hpp"
#include "sim/cases/estimate_note.hpp"
#include "sim/report/case_values.hpp"
#include "sim/report/lambda_text.hpp"
#include "sim/run/lean_limit_under_load.hpp"
#include "sim/studies/changed_value.hpp"
#include "sim/studies/judging.hpp"
#include "sim/studies/sensitivity.hpp"

namespace glassbowl::sim {
namespace {

constexpr double rpm = m::constants::pi / 30.0;
constexpr std::size_t on_first_page = 10;

struct Point {
  double speed, opening;  ///< [rpm], [-]
};
constexpr std::array points{Point{1500, 0.03}, Point{2500, 0.10}, Point{3000, 0.30}, Point{4500, 1.0}};
/// What a crank at held speed does not feel.
constexpr std::array without_effect{"engine.inertia", "engine.starter_torque", "engine.starter_speed",
                                    "engine.valve_pocket"};

double margin_of(const SteadyFigures& f) {
  return f.usable() && pulls(f) ? lean_limit_under_load(f.filling) - f.leanest : INFINITY;
}

}  // namespace

WhatToMeasure find_what_to_measure(const ResolvedCase& resolved, PointScheduler& scheduler) {
  WhatToMeasure out;
  for (const Point& p : points)
    out.places.push_back(
        {p.speed * rpm, p.opening, resolved.bike.air.altitude(0.0), resolved.bike.air.warmer});
  std::map<std::string, Declaration> keys;
  for (auto& key : declared_keys()) keys.emplace(key.path, key);

  std::vector<PointTask> tasks;
  const auto add = [&](const Sets& sets) {
    const auto base =
        std::make_shared<const SharedCase>(resolved.text, joined({"run.method=fixed_step"}, sets));
    for (const Place& place : out.places) tasks.push_back(steady_task(base, place));
  };
  add({});
  std::vector<double> parts;  // of the half range by which each was moved
  for (const Origin& origin : resolved.origins) {
    if (origin.kind == Origin::Kind::own || !describes_machine(origin, resolved.bike)) continue;
    if (std::find(without_effect.begin(), without_effect.end(), origin.path) != without_effect.end())
      continue;
    const Declaration& key = keys.at(origin.path);
    UnmeasuredSize size;
    size.origin = origin;
    size.unit = key.unit;
    size.spread = origin.spread.half_width > 0.0 ? origin.spread : unmeasured_spread(origin.path);
    if (!(size.spread.half_width > 0.0)) continue;
    size.place = find_measuring_place(origin.path);
    // One side or the other: a size near a bound goes with the rest of the machine on one of them only.
    for (const double part : {0.5, -0.5}) {
      const auto set = changed_by(origin, key, size.spread, part);
      if (!set) continue;
      try {
        read_case_text(resolved.text, resolved.name, {*set});
      } catch (const Error&) {
        continue;
      }
      add({*set});
      parts.push_back(part);
      out.sizes.push_back(std::move(size));
      break;
    }
  }
  const auto figures = run_steady(scheduler, tasks);
  const std::size_t n = out.places.size();
  out.as_described.assign(figures.begin(), figures.begin() + static_cast<std::ptrdiff_t>(n));
  std::size_t tightest = n;
  out.margin = INFINITY;
  for (std::size_t i = 0; i < n; ++i)
    if (const double margin = margin_of(out.as_described[i]); margin < out.margin) {
      out.margin = margin;
      tightest = i;
    }
  out.range.assign(n, 0.0);
  for (std::size_t k = 0; k < out.sizes.size(); ++k) {
    UnmeasuredSize& size = out.sizes[k];
    double sum = 0.0;
    for (std::size_t i = 0; i < n; ++i) {
      const SteadyFigures &before = out.as_described[i], &after = figures[(k + 1) * n + i];
      const bool known = before.trapped < highest_compared_lambda && after.trapped < highest_compared_lambda;
      size.lambda.push_back(known ? (after.trapped - before.trapped) / parts[k] : SteadyFigures::unknown);
      if (!known) continue;
      sum += size.lambda[i] * size.lambda[i] / static_cast<double>(n);
      out.range[i] += size.lambda[i] * size.lambda[i];
      if (i == tightest) size.of_margin = (before.leanest - after.leanest) / parts[k];
    }
    size.of_lambda = std::sqrt(sum);
    double left = 1.0;
    if (size.place != nullptr && size.spread.relative) left = size.place->accuracy / size.spread.half_width;
    // A width in mm is reduced by what its tool leaves of a width of the same kind: 0.2 mm is usual.
    if (size.place != nullptr && !size.spread.relative) left = 0.15;
    left = std::min(left, 1.0);
    size.worth = (sum + size.of_margin * size.of_margin) * (1.0 - left * left);
  }
  std::stable_sort(out.sizes.begin(), out.sizes.end(),
                   [](const auto& a, const auto& b) { return a.worth > b.worth; });
  double now = 0.0;
  for (double& variance : out.range) {
    now += variance / static_cast<double>(n);
    variance = std::sqrt(variance);
  }
  double after = now;
  std::size_t measured = 0;
  for (const auto& size : out.sizes)
    if (size.place != nullptr && measured++ < on_first_page)
      after -= std::max(0.0, size.worth - size.of_margin * size.of_margin);
  out.range_now = std::sqrt(now);
  out.range_after = std::sqrt(std::max(0.0, after));
  return out;
}

std::string what_to_measure_text(const WhatToMeasure& found, std::size_t count) {
  std::string out;
  std::size_t shown = 0;
  for (const auto& size : found.sizes) {
    if (size.place == nullptr) continue;
    if (shown++ == count) break;
    out += fmt::format("{}. {} ({}): now {} +- {} ({}), which moves lambda by {:.3f}. {} Tool: {}.\n", shown,
                       size.place->name, size.place->path, plain_value(size.origin),
                       spread_text(size.spread, size.unit), origin_name(size.origin.kind), size.of_lambda,
                       size.place->how, size.place->tool);
  }
  return out;
}

}  // namespace glassbowl::sim
