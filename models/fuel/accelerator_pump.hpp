#pragma once
#include <cmath>

#include "models/constants.hpp"
#include "models/fuel/jet.hpp"
#include "models/fuel/liquid_column.hpp"
#include "models/numerics/select.hpp"
#include "models/numerics/smooth_root.hpp"
#include "models/part.hpp"

/// Accelerator pump: a cam on the throttle shaft presses a diaphragm through an override spring; fuel
/// enters from the bowl through an inlet check valve and leaves through an outlet check and a nozzle.
///   s: diaphragm travel [m], c: travel the cam asks for
///   p - p_bowl = (k_o max(c - s, 0) - F_r - k_r s) / A                                     (E1)
///   ρ A ds/dt = q_nozzle + q_leak - q_inlet                                                (E2)
/// A fast stab compresses the override spring, which then empties the chamber through the nozzle over a
/// fraction of a second. Check valves open over `crack` pressure. Without an anti-siphon vent, the
/// venturi's depression alone can lift the outlet check and draw fuel (pull-over).
/// Source  force balance, derived; arrangement as in US Army ordnance training text OD1004, p. 30.
namespace glassbowl::models {

template <class Real = double>
struct AcceleratorPump {
  bool fitted = true;
  Real diaphragm_diameter = Real(0.022);  ///< [m] effective
  Real stroke = Real(2.0e-3);             ///< [m] at full cam travel
  Real cam_start = Real(0.0);             ///< [-] throttle opening where the cam takes up lost motion
  Real cam_end = Real(0.7);               ///< [-] throttle opening of full cam travel
  Real override_rate = Real(4000.0);      ///< [N/m]
  Real return_preload = Real(1.0);        ///< [N]
  Real return_rate = Real(400.0);         ///< [N/m]
  Jet<Real> nozzle{Real(0.40e-3), Real(1.2e-3), Real(0), Real(0)};
  Real nozzle_height = Real(0.020);  ///< [m] above the float datum
  Real inlet_area = Real(1.5e-6);    ///< [m²] effective, inlet check open
  Real crack = Real(600.0);          ///< [Pa] that lifts the outlet check
  Real leak_area = Real(0.02e-6);    ///< [m²] past diaphragm and inlet check, back to the bowl
  Real pull_over = Real(0.5);        ///< [-] share of the venturi's depression at the nozzle; 0 with
                                     ///<     an anti-siphon vent
};

inline constexpr Metres pump_landing{5e-5};  ///< travel over which the return spring's preload comes in
inline constexpr Pascals check_smoothing{50.0};

template <class Real>
struct PumpState {
  Real travel;  ///< [m]

  static constexpr auto states() {
    return list_states<Real, PumpState>(
        {{&PumpState::travel, {"travel", "m", "travel of the pump diaphragm", 1e-4, -1e-3}}});
  }
};

template <class Real>
Real pump_area(const AcceleratorPump<Real>& pump) {
  return 0.25 * constants::pi * pump.diaphragm_diameter * pump.diaphragm_diameter;
}

/// Diaphragm travel that the cam asks for at a throttle opening 0..1 [m].
template <class Real>
Real pump_cam_travel(const AcceleratorPump<Real>& pump, Real opening) {
  return pump.stroke * clamp((opening - pump.cam_start) / (pump.cam_end - pump.cam_start), Real(0), Real(1));
}

template <class Real>
struct PumpBoundary {
  Real cam;              ///< [m] travel that the cam asks for
  Real bowl_pressure;    ///< [Pa] on the fuel in the bowl
  Real bowl_level;       ///< [m] above the float datum
  Real bowl_depth;       ///< [m] fuel over the bowl's floor, where the pump draws
  Real nozzle_pressure;  ///< [Pa] static, at the nozzle
  Real fuel_density;     ///< [kg/m³]
  Real fuel_viscosity;   ///< [m²/s] kinematic
  Real response;         ///< [s] of liquid columns
};

template <class Real>
struct PumpFlows {
  PumpState<Real> rate;
  Real nozzle;    ///< [kg/s] into the bore
  Real inlet;     ///< [kg/s] from the bowl, leak already taken off
  Real pressure;  ///< [Pa] in the chamber, above the bowl
};

/// The diaphragm lands on its stop within twice the response: a stiff spring would else throw it beyond
/// within a step.
template <class Real>
PumpFlows<Real> evaluate_pump(const AcceleratorPump<Real>& pump, const PumpState<Real>& state,
                              const PumpBoundary<Real>& b) {
  using std::sqrt;
  const Real travel = state.travel, rho = b.fuel_density;
  PumpFlows<Real> out;
  out.pressure =
      (pump.override_rate * positive_part(b.cam - travel) -
       smooth_step(travel / as<Real>(pump_landing)) * pump.return_preload - pump.return_rate * travel) /
      pump_area(pump);
  const Real seen = b.bowl_pressure + pump.pull_over * (b.nozzle_pressure - b.bowl_pressure);
  const Real at_nozzle = out.pressure + b.bowl_pressure - seen -
                         rho * as<Real>(constants::gravity) * (pump.nozzle_height - b.bowl_level);
  const Real lifted = smooth_step((at_nozzle - 0.5 * pump.crack) / pump.crack);
  // Outlet check and nozzle in series: the nozzle meters, the check only opens the way.
  out.nozzle = none(lifted > Real(0))
                   ? Real(0)
                   : lifted * positive_part(jet_flow(pump.nozzle, at_nozzle, rho, b.fuel_viscosity));
  const Real suction = positive_part(-out.pressure);
  const Real drawn = wetted_share(b.bowl_depth) * pump.inlet_area * sqrt(2.0 * rho) *
                     smooth_root(suction, as<Real>(check_smoothing));
  const Real filling = min(drawn, rho * pump_area(pump) * positive_part(travel) / (2.0 * b.response));
  const Real leak =
      pump.leak_area * sqrt(2.0 * rho) * smooth_root(positive_part(out.pressure), as<Real>(check_smoothing));
  out.inlet = filling - leak;
  out.rate.travel = (out.nozzle - out.inlet) / (rho * pump_area(pump));
  return out;
}

}  // namespace glassbowl::models
