#pragma once
#include <cmath>

#include "models/fluids/fuel.hpp"
#include "models/numerics/select.hpp"
#include "models/part.hpp"

/// Liquid film on the wall of a runner: droplets deposit, the film evaporates and creeps into the cylinder.
///   dm/dt = deposition - evaporation - creep                                              (E1)
///   deposition = k_d |u| (4/D) m_droplets                                                 (E2)
///   evaporation = m/τ_e · (p_s - p_v)⁺/(p_s + p_v),  p_s of the heavy end at wall temperature   (E3)
///   creep = m/τ_c · |u|/(|u| + u_0) while flow goes toward the engine                     (E4)
/// With constant speed and temperature (E1) is the two-parameter model dm/dt = X ṁ - m/τ of Aquino
/// (SAE 810494, 1981) with X = the share deposited along the runner and 1/τ the sum of (E3) and (E4).
namespace glassbowl::models {

template <class Real = double>
struct WallFilm {
  Real wall_temperature = Real(330.0);  ///< [K] of the runner's wall
  Real deposition = Real(0.04);         ///< [-] k_d, deposition velocity over gas velocity
  Real evaporation_time = Real(0.7);    ///< [s] τ_e in dry air on a warm wall
  Real creep_time = Real(1.2);          ///< [s] τ_c at high gas speed
  Real creep_speed = Real(10.0);        ///< [m/s] u_0
  Real heavy_fraction = Real(0.6);      ///< [-] evaporated fraction that the film's fuel corresponds to
};

template <class Real>
struct WallFilmState {
  Real fuel;  ///< [kg]

  static constexpr auto states() {
    return list_states<Real, WallFilmState>(
        {{&WallFilmState::fuel, {"fuel", "kg", "fuel in the wall film", 1e-5, 0.0, Holds::fuel}}});
  }
};

template <class Real>
struct FilmFlows {
  Real deposited;   ///< [kg/s] droplets to film
  Real evaporated;  ///< [kg/s] film to vapour
  Real crept;       ///< [kg/s] film to cylinder
};

/// Vapour pressure [Pa] over the film's fuel at the wall's temperature.
template <class Real>
Real film_saturation(const WallFilm<Real>& film, const Fuel<Real>& fuel) {
  return vapour_pressure(fuel, film.wall_temperature, film.heavy_fraction);
}

/// A film on the wall of a passage of some diameter, as far as neither changes.
template <class Real>
struct FilmMeasures {
  Real saturation;  ///< [Pa]
  Real deposition;  ///< [1/m] 4 k_d/D
  Real drying;      ///< [1/s] 1/τ_e
  Real creep;       ///< [1/s] 1/τ_c
};

template <class Real>
FilmMeasures<Real> measure_film(const WallFilm<Real>& film, Real saturation, Real diameter) {
  return {saturation, film.deposition * 4.0 / diameter, 1.0 / film.evaporation_time, 1.0 / film.creep_time};
}

/// Droplets that strike the wall [kg/s] (E2), for droplets present [kg], gas speed [m/s].
template <class Real>
Real film_deposition(const FilmMeasures<Real>& k, Real droplet_mass, Real speed) {
  return k.deposition * absolute(speed) * positive_part(droplet_mass);
}
template <class Real>
Real film_deposition(const WallFilm<Real>& film, Real droplet_mass, Real speed, Real diameter) {
  return film_deposition(measure_film(film, Real(0), diameter), droplet_mass, speed);
}

/// Flows for a film [kg], droplets present [kg], vapour partial pressure [Pa] and gas speed toward the engine
/// [m/s].
template <class Real>
FilmFlows<Real> evaluate_film(const WallFilm<Real>& film, const FilmMeasures<Real>& k, Real film_mass,
                              Real droplet_mass, Real vapour_partial_pressure, Real speed) {
  FilmFlows<Real> out;
  out.deposited = film_deposition(k, droplet_mass, speed);
  out.evaporated = film_mass * k.drying * positive_part(k.saturation - vapour_partial_pressure) /
                   (k.saturation + vapour_partial_pressure);
  const Real forward = positive_part(speed);
  out.crept = film_mass * k.creep * forward / (forward + film.creep_speed);
  return out;
}

/// The same, measured on the spot for a saturation pressure [Pa] and a runner's diameter [m].
template <class Real>
FilmFlows<Real> evaluate_film(const WallFilm<Real>& film, Real saturation, Real film_mass, Real droplet_mass,
                              Real vapour_partial_pressure, Real speed, Real diameter) {
  return evaluate_film(film, measure_film(film, saturation, diameter), film_mass, droplet_mass,
                       vapour_partial_pressure, speed);
}

}  // namespace glassbowl::models
