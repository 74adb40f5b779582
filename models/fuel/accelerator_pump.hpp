#pragma once
#include <array>
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

inline constexpr std::array<Slot, 1> accelerator_pump_slots{{
    {"travel", "m", "travel of the pump diaphragm", 1e-4, -1e-3},
}};

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
struct PumpFlows {
  Real travel_rate;  ///< [m/s]
  Real nozzle;       ///< [kg/s] into the bore
  Real inlet;        ///< [kg/s] from the bowl, leak already taken off
  Real pressure;     ///< [Pa] in the chamber, above the bowl
};

/// `bowl_depth` [m] is the fuel that stands over the bowl's floor, where the pump draws.
/// Flows for a cam travel, the bowl's head at the pump (pressure on the fuel plus ρ g level) and the
/// static pressure at the nozzle, both [Pa]. The diaphragm lands on its stop within twice `response` [s],
/// that of liquid columns: a stiff spring would else throw it beyond within a step.
template <class Real>
PumpFlows<Real> evaluate_pump(const AcceleratorPump<Real>& pump, Real travel, Real cam, Real bowl_pressure,
                              Real bowl_level, Real bowl_depth, Real nozzle_pressure, Real rho, Real nu,
                              Real response) {
  using std::sqrt;
  PumpFlows<Real> out;
  out.pressure = (pump.override_rate * positive(cam - travel) -
                  smooth_step(travel / Real(5e-5)) * pump.return_preload - pump.return_rate * travel) /
                 pump_area(pump);
  const Real seen = bowl_pressure + pump.pull_over * (nozzle_pressure - bowl_pressure);
  const Real at_nozzle =
      out.pressure + bowl_pressure - seen - rho * constants::g0 * (pump.nozzle_height - bowl_level);
  const Real lifted = smooth_step((at_nozzle - 0.5 * pump.crack) / pump.crack);
  // Outlet check and nozzle in series: the nozzle meters, the check only opens the way.
  out.nozzle =
      none(lifted > Real(0)) ? Real(0) : lifted * positive(jet_flow(pump.nozzle, at_nozzle, rho, nu));
  const Real suction = positive(-out.pressure);
  const Real drawn =
      wetted_share(bowl_depth) * pump.inlet_area * sqrt(2.0 * rho) * smooth_root(suction, Real(50.0));
  const Real filling = lesser(drawn, rho * pump_area(pump) * positive(travel) / (2.0 * response));
  const Real leak = pump.leak_area * sqrt(2.0 * rho) * smooth_root(positive(out.pressure), Real(50.0));
  out.inlet = filling - leak;
  out.travel_rate = (out.nozzle - out.inlet) / (rho * pump_area(pump));
  return out;
}

}  // namespace glassbowl::models
