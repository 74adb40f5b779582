#pragma once
#include <array>
#include <cstddef>
#include <vector>

#include "models/gas/volume.hpp"

namespace glassbowl::sim {

namespace m = glassbowl::models;

/// What neighbours see of many volumes, a column for each quantity: one bike's volumes go through the same
/// arithmetic side by side, as values of a register. Meanings and units as in `models::Gas`.
template <class Real>
struct GasColumns {
  std::vector<Real> pressure, per_pressure, temperature, density, specific_volume, enthalpy;
  m::PerSpecies<std::vector<Real>> fraction;

  void resize(std::size_t volumes) {
    for (auto* column : {&pressure, &per_pressure, &temperature, &density, &specific_volume, &enthalpy})
      column->resize(volumes);
    for (auto& column : fraction) column.resize(volumes);
  }
  m::Gas<Real> operator[](std::size_t v) const {
    return {pressure[v],
            per_pressure[v],
            temperature[v],
            density[v],
            specific_volume[v],
            enthalpy[v],
            {fraction[0][v], fraction[1][v], fraction[2][v], fraction[3][v]}};
  }
  void put(std::size_t v, const m::Gas<Real>& gas) {
    pressure[v] = gas.pressure;
    per_pressure[v] = gas.per_pressure;
    temperature[v] = gas.temperature;
    density[v] = gas.density;
    specific_volume[v] = gas.specific_volume;
    enthalpy[v] = gas.enthalpy;
    for (std::size_t i = 0; i < m::species_count; ++i) fraction[i][v] = gas.fraction[i];
  }
};

}  // namespace glassbowl::sim
