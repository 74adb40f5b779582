#pragma once
#include <cmath>
#include <cstdint>
#include <random>

namespace glassbowl::tests {

/// Numbers for property checks, the same in every run.
class Random {
 public:
  explicit Random(std::uint64_t seed) : engine_(seed) {}
  double between(double low, double high) { return low + (high - low) * unit(); }
  /// Even over the logarithm, for sizes that span decades.
  double over_decades(double low, double high) { return low * std::pow(high / low, unit()); }
  double sign() { return unit() < 0.5 ? -1.0 : 1.0; }

 private:
  double unit() { return static_cast<double>(engine_() >> 11) * 0x1p-53; }
  std::mt19937_64 engine_;
};

}  // namespace glassbowl::tests
