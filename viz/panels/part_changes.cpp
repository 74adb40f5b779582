#include "viz/panels/part_changes.hpp"

#include <fmt/format.h>

#include <array>

namespace glassbowl::viz {
namespace {

using sim::DrawingDimensions;

bool always(const DrawingDimensions&) {
  return true;
}
bool has_piston(const DrawingDimensions& g) {
  return g.vacuum_piston;
}
bool has_pump(const DrawingDimensions& g) {
  return g.pump_fitted;
}
/// As it was drilled: the key does not hold what wear has added.
double drilled(const sim::JetSize& jet) {
  return jet.bore - jet.wear;
}

constexpr std::array changes{
    PartChange{"main jet, bore", "carburetor.main.jet.bore", "mm", 1e3,
               [](const DrawingDimensions& g) { return drilled(g.main_jet); }, 0.05, always},
    PartChange{"main air jet, bore", "carburetor.main.air_jet.bore", "mm", 1e3,
               [](const DrawingDimensions& g) { return drilled(g.main_air_jet); }, 0.1, always},
    PartChange{"slow jet, bore", "carburetor.slow.jet.bore", "mm", 1e3,
               [](const DrawingDimensions& g) { return drilled(g.slow.jet); }, 0.02, always},
    PartChange{"mixture screw, turns out", "carburetor.screw.turns", "", 1.0,
               [](const DrawingDimensions& g) { return g.screw_turns; }, 0.25, always},
    PartChange{"needle, raised", "carburetor.needle.raised", "mm", 1e3,
               [](const DrawingDimensions& g) { return g.needle_raised; }, 0.5, has_piston},
    PartChange{"float level", "float.level", "mm", 1e3,
               [](const DrawingDimensions& g) { return g.bowl_set_level; }, 1.0, always},
    PartChange{"pump nozzle, bore", "carburetor.pump.nozzle.bore", "mm", 1e3,
               [](const DrawingDimensions& g) { return drilled(g.pump_nozzle); }, 0.05, has_pump},
};

constexpr std::array faults{
    PartFault{"slow jet half blocked", "carburetor.slow.jet.blocked", "50 %", always},
    PartFault{"main jet half blocked", "carburetor.main.jet.blocked", "50 %", always},
    PartFault{"air leak at the manifold", "manifold.leak_area", "10 mm2", always},
    PartFault{"filter clogged", "inlet.filter_clogged", "80 %", always},
    PartFault{"float valve leaks", "float.needle_leak", "0.5 mm2", always},
    PartFault{"pump leaks all", "carburetor.pump.leak_area", "5 mm2", has_pump},
    PartFault{"diaphragm torn", "carburetor.piston.torn_area", "40 mm2", has_piston},
    PartFault{"piston sticks", "carburetor.piston.guide_friction", "1 N", has_piston}};

}  // namespace

std::string PartChange::written(double value) const {
  return *unit == 0 ? fmt::format("{:.3f}", value) : fmt::format("\"{:.3f} {}\"", value, unit);
}

std::span<const PartChange> part_changes() {
  return changes;
}
std::span<const PartFault> part_faults() {
  return faults;
}

std::string name_of_key(const std::string& key) {
  for (const auto& change : changes)
    if (key == change.key) return change.name;
  for (const auto& fault : faults)
    if (key == fault.key) return fault.name;
  return key;
}

}  // namespace glassbowl::viz
