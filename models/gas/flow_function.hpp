#pragma once
#include <array>
#include <cmath>
#include <cstddef>

#include "models/numerics/select.hpp"

/// Isentropic flow through a restriction, in the form that suits both a quasi-steady orifice and a gas
/// column with inertia.
///
/// The textbook law is ṁ = A p0/√(R T0) ψ(r), r = p2/p0, ψ² = 2γ/(γ-1) (r^(2/γ) - r^((γ+1)/γ)), constant
/// below the critical ratio (Heywood 1988, appendix C; NACA Report 1135, 1953). Written with
/// z = 1 - r and D = ψ²/2 it reads ṁ = A √(2 ρ0 p0 D(z)): p0 D is the pressure drop that an
/// incompressible fluid would need for the same flow. D(z) = z + O(z²), so nothing is singular at zero.
namespace glassbowl::models {

/// D(z)/z as a polynomial on 0..z_critical for one ratio of heat capacities, from its values at Chebyshev
/// nodes. D is analytic up to z = 1, so degree 10 leaves less than 1e-10 of D (tested against the closed
/// form for γ 1.2 to 1.67).
class FlowFunction {
 public:
  static constexpr std::size_t terms = 11;

  explicit FlowFunction(double gamma)
      : z_critical_(1.0 - std::pow(2.0 / (gamma + 1.0), gamma / (gamma - 1.0))), scale_(2.0 / z_critical_) {
    constexpr std::size_t n = terms;
    const double pi = 3.14159265358979323846;
    // Chebyshev coefficients of D(z)/z over u = 2 z/z_critical - 1.
    std::array<double, n> c{};
    for (std::size_t j = 0; j < n; ++j) {
      for (std::size_t k = 0; k < n; ++k) {
        const double node = std::cos(pi * (static_cast<double>(k) + 0.5) / static_cast<double>(n));
        c[j] +=
            2.0 / static_cast<double>(n) * ratio(gamma, 0.5 * z_critical_ * (node + 1.0)) *
            std::cos(pi * static_cast<double>(j) * (static_cast<double>(k) + 0.5) / static_cast<double>(n));
      }
    }
    c[0] *= 0.5;
    // Chebyshev to powers of u by the recurrence T_{j+1} = 2 u T_j - T_{j-1}.
    std::array<double, n> before{}, now{};
    before[0] = 1.0;
    now[1] = 1.0;
    for (std::size_t i = 0; i < n; ++i) coefficient_[i] = c[0] * before[i] + c[1] * now[i];
    for (std::size_t j = 2; j < n; ++j) {
      std::array<double, n> next{};
      for (std::size_t i = 0; i < n; ++i) next[i] = (i > 0 ? 2.0 * now[i - 1] : 0.0) - before[i];
      for (std::size_t i = 0; i < n; ++i) coefficient_[i] += c[j] * next[i];
      before = now;
      now = next;
    }
  }

  double z_critical() const { return z_critical_; }

  /// D(z) for z >= 0, constant beyond the critical drop. Pairs first (Estrin), so that the terms do not
  /// wait for one another.
  template <class Real>
  Real operator()(Real z) const {
    const Real s = min(z, Real(z_critical_));
    const Real u = s * scale_ - 1.0;
    const auto& k = coefficient_;
    const Real u2 = u * u;
    const Real u4 = u2 * u2;
    const Real a = (k[0] + k[1] * u) + (k[2] + k[3] * u) * u2;
    const Real b = (k[4] + k[5] * u) + (k[6] + k[7] * u) * u2;
    const Real c = (k[8] + k[9] * u) + k[10] * u2;
    return s * (a + (b + c * u4) * u4);
  }

 private:
  /// D(z)/z in closed form, by its series where the difference of powers cancels.
  static double ratio(double gamma, double z) {
    if (z < 1e-3) {
      const double a = 2.0 / gamma, b = (gamma + 1.0) / gamma;
      double ca = 1.0, cb = 1.0, sum = 0.0, power = 1.0;
      for (int j = 1; j <= 8; ++j) {
        ca *= (j - 1.0 - a) / j;
        cb *= (j - 1.0 - b) / j;
        sum += gamma / (gamma - 1.0) * (ca - cb) * power;
        power *= z;
      }
      return sum;
    }
    const double r = 1.0 - z;
    return gamma / (gamma - 1.0) * (std::pow(r, 2.0 / gamma) - std::pow(r, (gamma + 1.0) / gamma)) / z;
  }

  double z_critical_, scale_;
  std::array<double, terms> coefficient_{};
};

/// Gas of one ratio of heat capacities.
struct GasFlow {
  explicit GasFlow(double gamma) : drive(gamma), z_critical(drive.z_critical()) {}
  FlowFunction drive;
  double z_critical;  ///< critical drop over upstream pressure, 1 - (2/(γ+1))^(γ/(γ-1))
};

/// Equivalent incompressible pressure drop from a to b [Pa], signed, limited by choking. `per_high` is the
/// inverse [1/Pa] of the higher pressure, which a caller may know already.
template <class Real>
Real driving_pressure(const GasFlow& flow, Real p_a, Real p_b, Real per_high) {
  const Real high = max(p_a, p_b);
  const Real magnitude = high * flow.drive(absolute(p_a - p_b) * per_high);
  return select(p_a >= p_b, magnitude, -magnitude);
}

template <class Real>
Real driving_pressure(const GasFlow& flow, Real p_a, Real p_b) {
  return driving_pressure(flow, p_a, p_b, Real(1.0) / max(p_a, p_b));
}

/// Quasi-steady mass flow [kg/s] from a to b through effective area CdA [m²].
///   ṁ = CdA √(2 ρ_up) · root(p0 D), root regularised over `smoothing` [Pa].
/// Source  Heywood 1988, eqs. C.8-C.9.
template <class Real>
Real orifice_flow(const GasFlow& flow, Real CdA, Real p_a, Real rho_a, Real p_b, Real rho_b, Real smoothing) {
  using std::sqrt;
  const Real F = driving_pressure(flow, p_a, p_b);
  const Real rho = select(F >= Real(0), rho_a, rho_b);
  return CdA * F * sqrt(2.0 * rho / sqrt(F * F + smoothing * smoothing));
}

}  // namespace glassbowl::models
