#pragma once
#include <functional>
#include <string>
#include <vector>

#include "sim/bike/bike.hpp"
#include "sim/solver/simulation.hpp"

/// Runs of the shipped bikes by the program's own reader and solver, for the checks of whole engines.
namespace glassbowl::validation {

/// A bike that comes with the program, by its name in cases/bikes, at a standard day without humidity.
sim::Bike<double> shipped_bike(const std::string& name);

/// A steady operating point at held speed.
struct Operating {
  double rpm = 3500.0;        ///< [1/min]
  double throttle = 1.0;      ///< [-]
  double altitude = 0.0;      ///< [m]
  double ideal_lambda = 0.0;  ///< [-] above 0: this mixture instead of the carburetor's
  double settle = 0.8;        ///< [s]
  int cycles = 4;             ///< averaged
  double step = 50e-6;        ///< [s]
};

/// Means over the averaged cycles; charges over all cylinders.
struct Steady {
  double air_per_cycle = 0.0;                   ///< [kg]
  double fuel_per_cycle = 0.0;                  ///< [kg]
  double volumetric_efficiency = 0.0;           ///< [-] on the dry air outside
  double lambda = 0.0;                          ///< [-] leaving the carburetor
  double indicated = 0.0, brake = 0.0;          ///< [N m]
  double manifold = 0.0, exhaust = 0.0;         ///< [Pa]
  double residual = 0.0;                        ///< [-]
  double ignited = 0.0;                         ///< [-]
  double burn_duration = 0.0, burned_50 = 0.0;  ///< [rad], [rad after top dead centre] of cylinder 1
};

/// Throws when the engine stalls.
Steady run_steady(sim::Bike<double> bike, const Operating& at);

/// The points of one bike, on two threads; independent of one another and in the given order.
std::vector<Steady> run_points(const sim::Bike<double>& bike, const std::vector<Operating>& points);

/// Calls job(0) .. job(count - 1) on two threads. The first exception is thrown again at the end.
void in_parallel(std::size_t count, const std::function<void(std::size_t)>& job);

}  // namespace glassbowl::validation
