#include "viz/cutaway/gas_speed.hpp"

#include <algorithm>
#include <cmath>

#include "viz/cutaway/drawings.hpp"

namespace glassbowl::viz {
namespace {

constexpr double pi = 3.14159265358979323846;
constexpr double relax = 12e-3;  // [m] over which the streams part before the plate and join behind it

double finite(double v, double fallback) {
  return std::isfinite(v) ? v : fallback;
}

double smooth(double u) {
  u = std::clamp(u, 0.0, 1.0);
  return u * u * (3.0 - 2.0 * u);
}

}  // namespace

double GasSpeed::edge(double x, bool upper) const {
  // The lower stream is the upper one turned about the shaft and run through backward.
  if (!upper) return 2.0 * bore_.axis - edge(-x, true);
  if (x > end_x_) return bore_.axis + end_y_ * (1.0 - smooth((x - end_x_) / relax));
  const double plate = end_x_ > 1e-9 ? x / end_x_ : 0.0;
  return bore_.axis + end_y_ * std::max(plate, smooth((x + relax) / (std::max(0.0, end_x_) + relax)));
}

double GasSpeed::height(double x, double share) const {
  const double middle = edge(x, share >= 0);
  const double low = bore_.lower_wall(x), high = bore_.upper_wall(x, lift_);
  const double cut = std::clamp(middle, low, high);
  return share >= 0 ? cut + share * (high - cut) : cut + share * (cut - low);
}

void GasSpeed::update(const Signals& s, const Instant& now) {
  const auto& g = now.source().geometry();
  from_ = bore_.horn - 14e-3;
  to_ = bore_.outlet;
  lift_ = finite(now[s.piston_lift], 0.0);
  const PlateEnds ends = plate_ends(g, bore_, finite(now[s.plate_angle], g.idle_stop));
  end_x_ = ends.upper_x;
  end_y_ = ends.upper_y - bore_.axis;
  section_ = 0.25 * pi * g.bore * g.bore;

  const double inflow = finite(now[s.bore_flow], 0.0), outflow = finite(now[s.plate_flow], 0.0);
  const double box_density = finite(gas_mass(now, s.airbox) / g.airbox_volume, 1.2);
  mixing_density_ = finite(gas_mass(now, s.mixing) / g.mixing_volume, 1.2);
  const double manifold_density = finite(gas_mass(now, s.manifold) / g.manifold_volume, 1.2);
  const double throat = finite(now[s.throat_area], section_);
  const double slot = finite(now[s.plate_area], section_);

  for (std::size_t i = 0; i < points; ++i) {
    const double x = from_ + (to_ - from_) * static_cast<double>(i) / static_cast<double>(points - 1);
    const double low = bore_.lower_wall(x), high = bore_.upper_wall(x, lift_);
    const double density = x < bore_.throat_x ? box_density : x < 0.0 ? mixing_density_ : manifold_density;
    // Mass flow changes along the mixing chamber, which fills and empties between throat and plate.
    const double chamber = bore_.throat_x + bore_.throat_half;
    const double flow = x < chamber ? inflow
                        : x >= 0.0  ? outflow
                                    : inflow + (outflow - inflow) * (x - chamber) / -chamber;
    double area = 0.25 * pi * (high - low) * (high - low);
    if (g.vacuum_piston && std::abs(x - bore_.throat_x) < bore_.throat_half) area = std::max(throat, 1e-7);
    const bool plate_near = std::abs(x) < end_x_ + relax;
    const auto speed = [&](double height) {
      const double part = plate_near ? std::max(section_ * height / g.bore, 0.5 * slot) : 0.5 * area;
      return 0.5 * flow / (density * std::max(part, 1e-8));
    };
    upper_[i] = speed(high - std::clamp(edge(x, true), low, high));
    lower_[i] = speed(std::clamp(edge(x, false), low, high) - low);
  }

  inflow_.assign(lanes(), 0.0);
  lane_.resize(lanes());
  const double plenum_section = (engine_.plenum_top - engine_.plenum_bottom) * g.bore;
  const double runner_section = 0.25 * pi * g.runner_diameter * g.runner_diameter;
  for (std::size_t k = 0; k < lanes(); ++k) inflow_[k] = finite(now[s.runner_flow[k].front()], 0.0);
  for (std::size_t k = 0; k < lanes(); ++k) {
    const double length = lane_length(k), level = length - g.runner_length;
    const auto cells = s.runner[k].size();
    for (std::size_t i = 0; i < lane_points; ++i) {
      const double at = length * static_cast<double>(i) / static_cast<double>(lane_points - 1);
      if (at < level) {
        double flow = outflow;
        const double x = engine_.left + at;
        for (std::size_t j = 0; j < lanes(); ++j)
          if (engine_.intake_x[j] < x) flow -= inflow_[j];
        lane_[k][i] = flow / (manifold_density * plenum_section);
        continue;
      }
      const double in_cells = (at - level) / g.runner_length * static_cast<double>(cells);
      const auto cell = std::min(static_cast<std::size_t>(in_cells), cells - 1);
      const double density = finite(
          gas_mass(now, s.runner[k][cell]) / (runner_section * g.runner_length / static_cast<double>(cells)),
          1.2);
      const double in = finite(now[s.runner_flow[k][cell]], 0.0);
      const double out =
          finite(cell + 1 < cells ? now[s.runner_flow[k][cell + 1]] : now[s.intake_flow[k]], 0.0);
      const double share = std::clamp(in_cells - static_cast<double>(cell), 0.0, 1.0);
      lane_[k][i] = (in + share * (out - in)) / (density * runner_section);
    }
  }
}

double GasSpeed::in_bore(double x, bool upper) const {
  const auto& table = upper ? upper_ : lower_;
  const double at = std::clamp((x - from_) / (to_ - from_), 0.0, 1.0) * static_cast<double>(points - 1);
  const auto i = std::min(static_cast<std::size_t>(at), points - 2);
  return table[i] + (at - static_cast<double>(i)) * (table[i + 1] - table[i]);
}

double GasSpeed::lane_length(std::size_t lane) const {
  return engine_.intake_x[lane] - engine_.left + engine_.runner_top - engine_.head;
}

double GasSpeed::in_lane(std::size_t lane, double s) const {
  const double at = std::clamp(s / lane_length(lane), 0.0, 1.0) * static_cast<double>(lane_points - 1);
  const auto i = std::min(static_cast<std::size_t>(at), lane_points - 2);
  return lane_[lane][i] + (at - static_cast<double>(i)) * (lane_[lane][i + 1] - lane_[lane][i]);
}

}  // namespace glassbowl::viz
