#pragma once
#include <cstddef>
#include <vector>

#include "models/fluids/atmosphere.hpp"
#include "models/fluids/gas_mixture.hpp"
#include "models/gas/flow_function.hpp"
#include "sim/network/bike.hpp"
#include "sim/network/layout.hpp"
#include "sim/network/snapshot.hpp"

/// The assembled bike: joins the parts by their boundary values and sums their flows. Each flow is
/// computed once, taken from one side and given to the other, so mass and energy close by construction.
namespace glassbowl::sim {

/// What is fixed for one cylinder from shortly before its spark until the next one.
template <class Real>
struct Ignition {
  Real burn_start = Real(0);     ///< [rad] 0..4π, its own angle
  Real burn_duration = Real(1);  ///< [rad]
  Real unburnable = Real(1);     ///< [kg] fuel that this cycle leaves unburned
  Real ignited = Real(0);        ///< [-] share of the charge that lights
};

/// Values held between events; changed only between steps.
template <class Real>
struct Held {
  std::vector<Ignition<Real>> ignition;
  double ideal_lambda = 0.0;  ///< above 0: the cylinders draw this mixture instead of the carburetor's
};

template <class Real>
class Network {
 public:
  explicit Network(const Bike<Real>& bike);

  const Bike<Real>& bike() const { return bike_; }
  const Layout& layout() const { return layout_; }
  const m::GasData<Real>& gas_data() const { return gas_; }
  Real fuel_density() const { return rho_f_; }

  /// Rates of change of all states at time t; fills `s` on the way, which is to be of this network's making:
  /// what never changes in it is read. Allocates nothing.
  void rates(Real t, const Real* x, const Held<Real>& held, Real* dx, Snapshot<Real>& s) const;
  /// The same by the instructions that the caller is compiled for. All parts become one function: calls
  /// between them would pass their values through memory.
  [[gnu::flatten]] void evaluate(Real t, const Real* x, const Held<Real>& held, Real* dx,
                                 Snapshot<Real>& s) const;

  /// What cylinder k's charge will do, decided from its contents just before the spark.
  Ignition<Real> decide_ignition(std::size_t k, const Real* x, Real omega) const;

  /// Angle of cylinder k's own cycle, 0..4π from its firing top dead centre.
  Real cylinder_angle(std::size_t k, Real crank_angle) const;

  /// A bike that has stood overnight: everything at ambient pressure, wells at the bowl's level.
  std::vector<Real> state_at_rest() const;
  Held<Real> held_at_rest() const;
  Snapshot<Real> make_snapshot() const;

  /// Fuel [kg], air [kg] and gas energy [J] held now.
  Real fuel_held(const Real* x) const;
  Real air_held(const Real* x) const;
  Real volume_energy(const Real* x, std::size_t v) const { return x[layout_.gas(m::energy, v)]; }

 private:
  struct Work;  // intermediate values of one evaluation
  void controls(Real t, const Real* x, Snapshot<Real>& s) const;
  void gas_volumes(const Real* x, Work& w, Snapshot<Real>& s) const;
  void plate(Snapshot<Real>& s) const;
  void passages(const Real* x, Real* dx, Work& w, Snapshot<Real>& s) const;
  void areas(const Real* x, Work& w, Snapshot<Real>& s) const;
  void momentum(const Real* x, Real* dx, std::size_t begin, std::size_t end, const m::GasFlow& gas,
                const Snapshot<Real>& s) const;
  void carry(const Real* x, Real* dx, Snapshot<Real>& s) const;
  void pressures_along_bore(const Real* x, Real* dx, Work& w, Snapshot<Real>& s) const;
  void air_leak(Real* dx, const Snapshot<Real>& s) const;
  void carburetor(const Real* x, Real* dx, Work& w, Snapshot<Real>& s) const;
  void slow_circuit(const Real* x, Real* dx, Work& w, Snapshot<Real>& s) const;
  void cold_start(const Real* x, Real* dx, Work& w, Snapshot<Real>& s) const;
  void ideal_mixture(const Real* x, double lambda, Real* dx, const Snapshot<Real>& s) const;
  void piston(const Real* x, Real* dx, Work& w, Snapshot<Real>& s) const;
  void mixture(const Real* x, Real* dx, Snapshot<Real>& s) const;
  void engine(Real t, const Real* x, const Held<Real>& held, Real* dx, Work& w, Snapshot<Real>& s) const;
  void add_species(std::size_t v, m::Species species, Real mass_rate, Real temperature, Real* dx) const;
  void exchange_air(std::size_t v, Real into, const Snapshot<Real>& s, Real* dx) const;
  void deliver(std::size_t v, Real fuel, Real* dx) const;
  m::ChannelSource<Real> bowl_source(const Snapshot<Real>& s) const;
  Real liquid_response() const { return 2.5 * bike_.path.response; }

  Bike<Real> bike_;
  Layout layout_;
  void (*evaluation_)(const Network&, Real, const Real*, const Held<Real>&, Real*, Snapshot<Real>&) = nullptr;
  m::GasData<Real> gas_;
  m::GasFlow fresh_{1.40};  // ratio of heat capacities of fresh charge
  m::GasFlow spent_{1.33};  // of exhaust gas
  Real rho_f_, nu_f_;
  Real bore_area_;
  Real screw_area_;
  m::MainCircuitMeasures<Real> main_;
  m::ChannelMeasures<Real> slow_, enrichment_;
  m::FilmMeasures<Real> manifold_film_, runner_film_;
  Real per_bore_area_, per_runner_area_;             // [1/m²]
  Real per_drop_time_;                               // [1/s]
  std::vector<Real> fixed_volume_, per_volume_;      // [m³], [1/m³]; of cylinders they change
  std::vector<std::size_t> from_, to_;               // ends of each face among the gas columns
  std::vector<std::size_t> behind_;                  // where what flows back comes from
  std::vector<Real> port_area_, port_position_;      // [m²] effective, [m]; per transfer port
  std::vector<Real> inertance_;                      // per face [1/m]
  std::vector<Real> fixed_area_;                     // [m²] effective, per face; zero for those that change
  Real clearance_;                                   // [m³]
  Real per_piston_area_;                             // [1/m²]
  Real intake_per_period_, exhaust_per_period_;      // [1/rad]
  Real intake_per_diameter_, exhaust_per_diameter_;  // [1/m]
  Real per_afr_;                                     // [-]
  Real per_inertia_;                                 // [1/(kg m²)] of crank and what it drives
  Real per_RT_;                                      // [kg/J] of air at the carburetor's temperature
  m::PerSpecies<Real> outside_fraction_;
  m::Gas<Real> outside_at_start_;
};

}  // namespace glassbowl::sim
