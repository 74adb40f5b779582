#pragma once
#include <cstddef>
#include <string>
#include <vector>

#include "sim/network/bike.hpp"

/// Where each state of the assembled bike lives in the flat vector, and what it is called.
namespace glassbowl::sim {

inline constexpr std::size_t outside = static_cast<std::size_t>(-1);  ///< the air around the bike
inline constexpr std::size_t absent = static_cast<std::size_t>(-1);   ///< offset of a part not fitted

struct StateName {
  std::string name, unit, long_name, part;
  double nominal;
  double lower;
  bool ledger;  ///< an accumulated total, not a physical state
};

/// Two ends of a gas passage: indices of volumes, or `outside`.
struct Face {
  std::string name;
  std::size_t from, to;
};

class Layout {
 public:
  /// Which parts are fitted, and how many.
  struct Parts {
    std::size_t cylinders, cells, ports;
    bool pump, piston, enrichment;
    bool operator==(const Parts&) const = default;
  };
  template <class Real>
  static Parts parts_of(const Bike<Real>& bike) {
    const auto& carb = bike.carburetor;
    return {
        bike.engine.firing.size(), static_cast<std::size_t>(bike.path.runner_cells), carb.ports.size(),
        carb.pump.fitted,          carb.kind == CarburetorKind::constant_depression, carb.enrichment.fitted};
  }
  explicit Layout(const Parts& parts);

  // Counts.
  std::size_t cylinders, cells, ports, volumes, faces;

  // Volumes.
  static constexpr std::size_t airbox = 0, mixing = 1, manifold = 2;
  std::size_t runner_cell(std::size_t cylinder, std::size_t cell) const {
    return 3 + cylinder * cells + cell;
  }
  std::size_t port_cell(std::size_t cylinder) const { return runner_cell(cylinder, cells - 1); }
  std::size_t cylinder(std::size_t k) const { return 3 + cylinders * cells + k; }
  std::size_t exhaust(std::size_t k) const { return 3 + cylinders * (cells + 1) + k; }
  std::size_t silencer() const { return 3 + cylinders * (cells + 2); }

  // Faces.
  static constexpr std::size_t filter = 0, bore = 1, plate = 2;
  std::size_t runner_face(std::size_t k, std::size_t cell) const { return 3 + k * cells + cell; }
  std::size_t intake_valve(std::size_t k) const { return 3 + cylinders * cells + k; }
  std::size_t exhaust_valve(std::size_t k) const { return 3 + cylinders * (cells + 1) + k; }
  std::size_t exhaust_pipe(std::size_t k) const { return 3 + cylinders * (cells + 2) + k; }
  std::size_t outlet() const { return 3 + cylinders * (cells + 3); }

  // Offsets in the flat vector.
  std::size_t crank_angle, crank_speed, volume_begin, face_begin, tank, bowl, main, slow, film_begin;
  std::size_t pump, piston, enrichment;  ///< `absent` where not fitted
  /// Species or energy of a volume: those of all volumes in turn, so that a register takes many of one kind.
  std::size_t gas(std::size_t slot, std::size_t v) const { return volume_begin + slot * volumes + v; }
  std::size_t face(std::size_t f) const { return face_begin + f; }
  std::size_t film(std::size_t k) const { return film_begin + k; }

  // Ledger: totals since the start, integrated with the states.
  std::size_t ledger_begin;
  std::size_t face_enthalpy;  ///< one per face [J], carried along it
  std::size_t other_energy;   ///< one per volume [J]: heat, work, liquids, air jets
  std::size_t fuel_burned, fuel_exhausted, fuel_stood_off, fuel_overflowed;  ///< [kg]
  std::size_t air_filtered, air_exhausted, air_burned, air_leaked;           ///< [kg]
  std::size_t by_idle, by_port, by_main, by_pump, by_enrichment;  ///< [kg] delivered; by_port: one each
  std::size_t carburetor_air;                                     ///< [kg] bore, bleeds and air jets
  std::size_t manifold_pressure, piston_lift, speed, depression;  ///< time integrals
  std::size_t indicated_work, friction_work, brake_work;          ///< [J]

  std::size_t size;
  std::vector<StateName> names;
  std::vector<Face> connections;
  std::vector<std::string> volume_names;

 private:
  std::size_t add(std::string part, const m::Slot& slot);
  std::size_t add_total(std::string name, std::string unit, std::string long_name);
};

}  // namespace glassbowl::sim
