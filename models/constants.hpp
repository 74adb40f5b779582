#pragma once
#include "models/numerics/unit_constant.hpp"

/// Physical constants shared by all parts, each with its source. SI units.
namespace glassbowl::models::constants {

inline constexpr double pi = 3.14159265358979323846;
inline constexpr double g0 = 9.80665;                  ///< [m/s²] ISO 80000-3:2019, standard acceleration
inline constexpr double gas_constant = 8.314462618;    ///< [J/(mol K)] CODATA 2018
inline constexpr double R_air = 287.05287;             ///< [J/(kg K)] ISO 2533:1975, table 1
inline constexpr double p_sea_level = 101325.0;        ///< [Pa] ISO 2533:1975
inline constexpr double T_sea_level = 288.15;          ///< [K] ISO 2533:1975
inline constexpr double lapse_rate = 0.0065;           ///< [K/m] ISO 2533:1975, 0 to 11 km
inline constexpr Acceleration gravity{g0};             ///< g0 with its unit
inline constexpr GasConstant air_gas_constant{R_air};  ///< R_air with its unit
inline constexpr Pascals one_atmosphere{p_sea_level};
inline constexpr double T_reference = 298.15;  ///< [K] temperature at which heating values are stated

}  // namespace glassbowl::models::constants
