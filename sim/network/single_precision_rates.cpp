#include "models/numerics/single.hpp"  // before the parts that take it
//
#include "sim/lanes/pack_bikes.hpp"
#include "sim/network/rates_by_precision.hpp"
#include "sim/network/right_hand_side.hpp"
#include "sim/network/single_precision_rates.hpp"

namespace glassbowl::sim {
namespace {

class OfOneBike : public SingleRates {
 public:
  explicit OfOneBike(const Bike<double>& bike)
      : rates_(pack_bikes<m::Single>(Each<Bike<double>, 1>{&bike})), dx_(rates_.network.states().size) {}
  void operator()(double t, const double* x, const DiscreteState<double>& discrete, double* dx) override {
    rates_.set_discrete(0, discrete);
    rates_.at(x, dx_, t);
    for (std::size_t i = 0; i < dx_.size(); ++i) dx[i] = m::widen(dx_[i]);
  }

 private:
  RatesIn<double, m::Single> rates_;
  std::vector<m::Single> dx_;
};

}  // namespace

std::unique_ptr<SingleRates> make_single_rates(const Bike<double>& bike) {
  return std::make_unique<OfOneBike>(bike);
}

}  // namespace glassbowl::sim
