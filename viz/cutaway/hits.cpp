#include "viz/cutaway/hits.hpp"

#include <algorithm>
#include <array>

namespace glassbowl::viz {
namespace {

constexpr std::array<const char*, static_cast<std::size_t>(Part::count)> names{
    "none",       "airbox",         "choke_plate",    "throat",        "vacuum_piston", "piston_chamber",
    "needle",     "mixing_chamber", "throttle_plate", "transfer_port", "idle_outlet",   "mixture_screw",
    "bowl",       "float_valve",    "main_jet",       "main_air_jet",  "well",          "riser",
    "nozzle",     "slow_jet",       "slow_air_jet",   "slow_channel",  "pump",          "pump_nozzle",
    "enrichment", "manifold",       "runner",         "film",          "intake_valve",  "exhaust_valve",
    "cylinder"};

constexpr float reach = 5.0F;  // [px] around small parts

}  // namespace

const char* name_of(Part part) {
  return names.at(static_cast<std::size_t>(part));
}

Part part_named(const std::string& name) {
  const auto at = std::find(names.begin(), names.end(), name);
  return at == names.end() ? Part::none : static_cast<Part>(at - names.begin());
}

PartId Hits::find(Point at) const {
  PartId best;
  float smallest = 1e30F;
  for (const auto& area : areas_) {
    Box box = area.box;
    if (std::min(box.w, box.h) < 2 * reach) box = box.inset(-reach);
    if (!box.holds(at) || box.w * box.h >= smallest) continue;
    smallest = box.w * box.h;
    best = area.id;
  }
  return best;
}

std::vector<Box> Hits::places(Part part) const {
  std::vector<Box> out;
  for (const auto& area : areas_)
    if (area.id.part == part) out.push_back(area.box);
  return out;
}

std::vector<Box> Hits::places(PartId id) const {
  std::vector<Box> out;
  for (const auto& area : areas_)
    if (area.id == id) out.push_back(area.box);
  return out;
}

std::vector<PartId> Hits::parts() const {
  std::vector<Area> first;
  for (const auto& area : areas_)
    if (std::none_of(first.begin(), first.end(), [&](const Area& a) { return a.id == area.id; }))
      first.push_back(area);
  std::stable_sort(first.begin(), first.end(), [](const Area& a, const Area& b) {
    return a.box.x + 0.5F * a.box.w < b.box.x + 0.5F * b.box.w;
  });
  std::vector<PartId> out;
  for (const auto& area : first) out.push_back(area.id);
  return out;
}

}  // namespace glassbowl::viz
