#include "sim/studies/uncertain_points.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "sim/api/no_fuel.hpp"
#include "sim/studies/sobol_indices.hpp"

namespace glassbowl::sim {
namespace {

constexpr std::size_t samples = 2048, index_samples = 512;

/// [-] lambda, limited where its size only says that there is almost no fuel.
double limited(double lambda) {
  return std::min(lambda, no_fuel_lambda);
}

bool known_at(const SteadyFigures& f) {
  return f.usable() && f.trapped > 0.0 && f.leanest > 0.0 && std::isfinite(f.filling);
}

bool judged(const SteadyFigures& f) {
  return known_at(f) && !std::isnan(f.torque) && pulls(f) && !lugging(f);
}

double margin_of(const SteadyFigures& f) {
  return lean_limit_under_load(f.filling) - limited(f.leanest);
}

double percentile(std::vector<double> values, double share) {
  const auto at = static_cast<std::size_t>(share * static_cast<double>(values.size() - 1) + 0.5);
  std::nth_element(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(at), values.end());
  return values[at];
}

}  // namespace

UncertainPoints::UncertainPoints(const ResolvedCase& resolved, std::vector<Place> places,
                                 std::vector<SteadyFigures> given, int bikes, const PointAccuracy& accuracy,
                                 PointScheduler& scheduler)
    : places_(std::move(places)), given_(std::move(given)) {
  const DrawnBikes drawn(resolved, bikes);
  values_ = drawn.values();
  refused_ = drawn.refused();
  for (const auto& value : values_) spreads_.push_back(spread_text(resolved, value.path()));
  for (std::size_t j = 0; j < places_.size(); ++j)
    if (known_at(given_[j])) known_.push_back(j);
  const auto all = run_steady(scheduler, drawn.tasks(places_, accuracy));
  std::vector<std::vector<double>> lambda, both;
  for (std::size_t b = 0; b < drawn.size(); ++b) {
    const auto first = all.begin() + static_cast<std::ptrdiff_t>(b * places_.size());
    std::vector<SteadyFigures> row(first, first + static_cast<std::ptrdiff_t>(places_.size()));
    // A bike that cannot be computed somewhere says nothing as a whole.
    if (!std::all_of(known_.begin(), known_.end(), [&](std::size_t j) { return known_at(row[j]); })) continue;
    lambda.emplace_back();
    both.emplace_back();
    for (const std::size_t j : known_)
      lambda.back().push_back(std::log(limited(row[j].trapped) / limited(given_[j].trapped)));
    both.back() = lambda.back();
    for (const std::size_t j : known_)
      both.back().push_back((margin_of(row[j]) - margin_of(given_[j])) / limited(given_[j].leanest));
    scores_.push_back(drawn.scores()[b]);
    figures_.push_back(std::move(row));
  }
  if (figures_.size() < static_cast<std::size_t>(fewest_bikes) || known_.empty()) return;
  response_ = fit_response(scores_, lambda);
  both_ = fit_response(scores_, both);
  samples_ = sampled(both_, samples);
}

Range95 UncertainPoints::lambda_range(std::size_t place) const {
  std::vector<double> values;
  for (const auto& bike : figures_) values.push_back(limited(bike[place].trapped));
  return range_95(std::move(values));
}

Range95 UncertainPoints::ratio_range(std::size_t place, std::size_t over) const {
  std::vector<double> values;
  for (const auto& bike : figures_)
    values.push_back(limited(bike[place].trapped) / limited(bike[over].trapped));
  return range_95(std::move(values));
}

std::size_t UncertainPoints::nearest(const Place& at) const {
  constexpr double idle = 0.02, heights = 3000.0, warmth = 60.0;  // [-], [m], [K] that count as one
  std::size_t best = 0;
  double least = INFINITY;
  for (std::size_t k = 0; k < known_.size(); ++k) {
    const Place& p = places_[known_[k]];
    const double apart = std::pow(std::log((at.opening + idle) / (p.opening + idle)), 2) +
                         std::pow(std::log(at.speed / p.speed), 2) +
                         std::pow((at.altitude - p.altitude) / heights, 2) +
                         std::pow((at.warmer - p.warmer) / warmth, 2);
    if (apart < least) least = apart, best = k;
  }
  return best;
}

Range95 UncertainPoints::lambda_range_near(const Place& at, double lambda) const {
  if (samples_.empty()) return {std::nan(""), std::nan("")};
  const std::size_t j = known_[nearest(at)];
  const Range95 range = lambda_range(j);
  const double there = limited(given_[j].trapped);
  return {lambda * range.low / there, lambda * range.high / there};
}

void UncertainPoints::add_odds(Judgement& judgement, const std::vector<Place>& places,
                               const std::vector<SteadyFigures>& figures,
                               const std::map<std::string, double>& targets, double allowed) const {
  LeanOdds& odds = judgement.odds;
  if (samples_.empty()) return;
  odds.bikes = static_cast<int>(figures_.size());
  odds.sizes = static_cast<int>(values_.size());
  odds.allowed = allowed;
  struct Judged {
    std::size_t near;
    double margin, leanest, off;  // off: lambda over its target
  };
  std::vector<Judged> points;
  for (std::size_t i = 0; i < figures.size(); ++i)
    if (judged(figures[i]))
      points.push_back({nearest(places[i]), margin_of(figures[i]), limited(figures[i].leanest),
                        figures[i].trapped / targets.at(region_of(places[i].opening))});
  if (points.empty()) return;
  std::vector<double> margins;
  double beyond = 0.0, errors = 0.0;
  for (const auto& sample : samples_) {
    double least = INFINITY, squares = 0.0;
    for (const Judged& p : points) {
      least = std::min(least, p.margin + p.leanest * sample[known_.size() + p.near]);
      squares += std::pow(p.off * std::exp(sample[p.near]) - 1.0, 2);
    }
    margins.push_back(least);
    if (least < 0.0) beyond += 1.0;
    errors += std::sqrt(squares / static_cast<double>(points.size()));
  }
  const auto count = static_cast<double>(samples_.size());
  odds.probability = beyond / count;
  odds.expected_error = errors / count;
  odds.margin_low = percentile(margins, 0.025);
  odds.margin_high = percentile(margins, 0.975);
}

std::vector<Contribution> UncertainPoints::contributions() const {
  std::vector<Contribution> out;
  std::vector<double> of_margin(values_.size(), 0.0);
  const bool any =
      !samples_.empty() && !both_.chosen.empty() &&
      std::any_of(known_.begin(), known_.end(), [&](std::size_t j) { return judged(given_[j]); });
  if (any) {
    const auto least = [&](const std::vector<double>& u) {
      double margin = INFINITY;
      for (std::size_t k = 0; k < known_.size(); ++k) {
        const SteadyFigures& f = given_[known_[k]];
        if (!judged(f)) continue;
        const std::size_t j = known_.size() + k;
        double change = both_.mean[j];
        for (std::size_t i = 0; i < u.size(); ++i) change += both_.slope[j][i] * normal_quantile(u[i]);
        margin = std::min(margin, margin_of(f) + limited(f.leanest) * change);
      }
      return margin;
    };
    const SobolIndices indices = sobol_indices(both_.chosen.size(), index_samples, least);
    for (std::size_t i = 0; i < both_.chosen.size(); ++i)
      of_margin[both_.chosen[i]] = std::clamp(indices.total[i] * both_.explained, 0.0, 1.0);
  }
  for (std::size_t i = 0; i < values_.size(); ++i)
    out.push_back({values_[i].path(), values_[i].meaning(), values_[i].value(), spreads_[i],
                   response_.share.empty() ? 0.0 : response_.share[i], of_margin[i]});
  std::stable_sort(out.begin(), out.end(),
                   [](const auto& a, const auto& b) { return a.share_lambda > b.share_lambda; });
  return out;
}

std::vector<Contribution> contributions(const ResolvedCase& resolved, PointScheduler& scheduler, int bikes) {
  struct At {
    double speed, opening;  // [rpm], [-]
  };
  constexpr std::array points{At{1500, 0.0},  At{2000, 0.04}, At{3000, 0.1},
                              At{3000, 0.25}, At{4000, 0.5},  At{4500, 1.0}};
  std::vector<Place> places;
  for (const At& at : points)
    places.push_back({at.speed * models::constants::pi / 30.0, at.opening, resolved.bike.air.altitude(0.0),
                      resolved.bike.air.warmer});
  const auto given = run_steady(scheduler, map_tasks(resolved.text, {}, places, {}));
  return UncertainPoints(resolved, places, given, bikes, {}, scheduler).contributions();
}

}  // namespace glassbowl::sim
