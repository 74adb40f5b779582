#pragma once

namespace glassbowl::models {

/// A number that has a unit, kg^kg m^m s^s K^K: lengths over which mouths uncover, widths of smoothing, g0.
/// Parts take it as their scalar by `as`, so that a scalar that checks units knows its unit.
template <int kg, int m, int s, int K = 0>
struct UnitConstant {
  double value;
};

/// The constant as a part's scalar.
template <class Real, int kg, int m, int s, int K>
constexpr Real as(const UnitConstant<kg, m, s, K>& constant) {
  if constexpr (requires { Real::with_unit(constant.value, kg, m, s, K); })
    return Real::with_unit(constant.value, kg, m, s, K);
  else
    return Real(constant.value);
}

using Metres = UnitConstant<0, 1, 0>;
using PerMetre = UnitConstant<0, -1, 0>;
using Seconds = UnitConstant<0, 0, 1>;
using Kelvins = UnitConstant<0, 0, 0, 1>;
using PerKelvin = UnitConstant<0, 0, 0, -1>;
using Pascals = UnitConstant<1, -1, -2>;
using PerPascal = UnitConstant<-1, 1, 2>;
using MassFlow = UnitConstant<1, 0, -1>;
using Mass = UnitConstant<1, 0, 0>;
using Speed = UnitConstant<0, 1, -1>;
using Acceleration = UnitConstant<0, 1, -2>;
using GasConstant = UnitConstant<0, 2, -2, -1>;

}  // namespace glassbowl::models
