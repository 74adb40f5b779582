#pragma once
#include <string>
#include <vector>

#include "sim/studies/drawn_bikes.hpp"
#include "sim/studies/judging.hpp"
#include "sim/studies/linear_response.hpp"

namespace glassbowl::sim {

/// A value that is not exact and its part in what is not known.
struct Contribution {
  std::string key, meaning, value;  ///< value as in the case, TOML
  std::string spread;               ///< "± 1.5 % (a drilled jet)"
  double share_lambda = 0.0;        ///< [-] of the variance of in-cylinder lambda, all points together
  double share_margin = 0.0;        ///< [-] of the variance of the least margin to the lean limit
};

/// What drawn bikes do at some operating points of a case.
///
/// Method  In-cylinder lambda and the margin to the lean limit, as ratios to those of the case as given, are
///   fitted linearly to the deviations of the drawn values (`LinearResponse`). Shares are those of the fit's
///   slopes; that of the least margin over several points, which is not linear, by Sobol's total indices of
///   the fit. The probability of being beyond the lean limit is counted in 2,048 samples of the fit with what
///   it does not explain. Points that no bike was computed at take the deviations of the nearest that was.
class UncertainPoints {
 public:
  /// Computes `bikes` at `places`; `given` is the case itself there.
  UncertainPoints(const ResolvedCase& resolved, std::vector<Place> places, std::vector<SteadyFigures> given,
                  int bikes, const PointAccuracy& accuracy, PointScheduler& scheduler);

  const std::vector<Place>& places() const { return places_; }
  std::size_t bikes() const { return figures_.size(); }  ///< that were computed
  std::size_t sizes() const { return values_.size(); }   ///< uncertain ones
  int refused() const { return refused_; }               ///< draws that are no legal case
  /// [bike][place]
  const std::vector<std::vector<SteadyFigures>>& figures() const { return figures_; }

  /// 95 % range of in-cylinder lambda at one of the places; NaN where it is not known.
  Range95 lambda_range(std::size_t place) const;
  /// 95 % range of lambda at one place over that at another.
  Range95 ratio_range(std::size_t place, std::size_t over) const;
  /// The same at any point, whose lambda is given: by the nearest place.
  Range95 lambda_range_near(const Place& at, double lambda) const;

  /// Adds to a judgement of points what the drawn bikes say of them; `allowed` is the probability of being
  /// beyond the lean limit that is put up with.
  void add_odds(Judgement& judgement, const std::vector<Place>& places,
                const std::vector<SteadyFigures>& figures, const std::map<std::string, double>& targets,
                double allowed) const;

  /// All uncertain values, largest share of lambda first.
  std::vector<Contribution> contributions() const;
  /// Share of lambda's variance that single values explain.
  double explained() const { return response_.explained; }

 private:
  std::size_t nearest(const Place& at) const;

  std::vector<Place> places_;
  std::vector<SteadyFigures> given_;
  std::vector<UncertainValue> values_;
  std::vector<std::string> spreads_;
  Scores scores_;
  std::vector<std::vector<SteadyFigures>> figures_;
  int refused_ = 0;
  std::vector<std::size_t> known_;            // places whose lambda the case itself has
  LinearResponse response_;                   // log of lambda's ratio at the known places
  LinearResponse both_;                       // the same, then the margin's change over lambda at each
  std::vector<std::vector<double>> samples_;  // of both
};

/// The values of a case by what they contribute: `bikes` drawn ones at six operating points, idle to full
/// throttle, in the air that the case begins with. For a measuring sheet. Throws what PointScheduler throws.
std::vector<Contribution> contributions(const ResolvedCase& resolved, PointScheduler& scheduler,
                                        int bikes = usual_bikes);

}  // namespace glassbowl::sim
