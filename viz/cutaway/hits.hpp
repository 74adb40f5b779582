#pragma once
#include <string>
#include <vector>

#include "viz/look/canvas.hpp"

namespace glassbowl::viz {

/// A part that can be pointed at, highlighted by a lesson and explained.
enum class Part {
  none,
  airbox,
  choke_plate,
  throat,
  vacuum_piston,
  piston_chamber,
  needle,
  mixing_chamber,
  throttle_plate,
  transfer_port,
  idle_outlet,
  mixture_screw,
  bowl,
  float_valve,
  main_jet,
  main_air_jet,
  well,
  riser,
  nozzle,
  slow_jet,
  slow_air_jet,
  slow_channel,
  pump,
  pump_nozzle,
  enrichment,
  manifold,
  runner,
  film,
  intake_valve,
  exhaust_valve,
  cylinder,
  count
};

/// Name as in lesson files, such as "throttle_plate"; `Part::none` for an unknown one.
Part part_named(const std::string& name);
const char* name_of(Part part);

struct PartId {
  Part part = Part::none;
  std::size_t index = 0;  ///< cylinder or port
  bool operator==(const PartId&) const = default;
};

/// Where parts were drawn, smaller ones found before those they lie in.
class Hits {
 public:
  void clear() {
    areas_.clear();
    occupied_.clear();
  }
  void add(Part part, const Box& box, std::size_t index = 0) { areas_.push_back({{part, index}, box}); }
  PartId find(Point at) const;
  /// All places of a part.
  std::vector<Box> places(Part part) const;
  std::vector<Box> places(PartId id) const;
  /// Every part once, from left to right.
  std::vector<PartId> parts() const;

  /// Where passages and metal were drawn: a poor place for a label.
  void occupy(const Box& box) { occupied_.push_back(box); }
  const std::vector<Box>& occupied() const { return occupied_; }

 private:
  struct Area {
    PartId id;
    Box box;
  };
  std::vector<Area> areas_;
  std::vector<Box> occupied_;
};

}  // namespace glassbowl::viz
