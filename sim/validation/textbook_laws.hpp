#pragma once

/// The program's laws in the idealisations of textbook carburetor examples: a discharge coefficient that is
/// given, air that does not compress, heads of fuel. Each is a call of the shipped functions at a limit, not
/// a formula of its own.
namespace glassbowl::validation {

/// Air of a state, as an example gives it.
struct Air {
  double pressure;     ///< [Pa]
  double temperature;  ///< [K]
  double density() const;
};

/// Mass flow [kg/s] of a fluid that does not compress through CdA [m²] under a drop [Pa]: the gas law at a
/// pressure so high that the drop is nothing beside it.
double incompressible_flow(double CdA, double drop, double rho);

/// Depression [Pa] of a throat of CdA [m²] at a mass flow [kg/s], air not compressing.
double incompressible_depression(double mass_flow, double rho, double CdA);

/// Hydrostatic pressure [Pa] of fuel standing z [m] high, as the tank's feed has it.
double head_of_fuel(double z, double rho);

/// Mass flow per effective area [kg/(s m²)] of air from rest under a drop [Pa].
double mass_flux(const Air& air, double drop, double gamma = 1.4);

/// Speed [m/s] that air at rest reaches over a drop [Pa]. From the mass flux G alone: in steady flow without
/// friction dV = -dp/G(p).
double ideal_speed(const Air& air, double drop, double gamma = 1.4);

/// Drop [Pa] over which air reaches a speed [m/s].
double drop_for_speed(const Air& air, double speed, double gamma = 1.4);

/// Bore [m] of a jet or choke that has an area [m²].
double bore_of_area(double area);
double area_of_bore(double bore);

/// Bore of the jet that passes a mass flow of fuel [kg/s] under a drop [Pa] at a given Cd.
double jet_bore(double fuel_flow, double drop, double rho, double Cd);

}  // namespace glassbowl::validation
