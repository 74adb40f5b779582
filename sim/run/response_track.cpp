#include "sim/run/response_track.hpp"

#include <algorithm>
#include <limits>

#include "models/constants.hpp"

namespace glassbowl::sim {
namespace {

constexpr double cycle_angle = 4.0 * m::constants::pi;

}  // namespace

ResponseTrack::ResponseTrack(const Simulation& simulation)
    : torque_(simulation.network().bike().load.kind == m::LoadKind::held_speed) {}

void ResponseTrack::reserve(double seconds) {
  const auto count = static_cast<std::size_t>(seconds / interval) + 16;
  for (auto* column : {&time_, &angle_, &work_, &pump_, &lift_}) column->reserve(count);
}

void ResponseTrack::sample(const Simulation& simulation) {
  const auto& states = simulation.network().states();
  const auto& carburetor = states.carburetors.front();
  const double* x = simulation.state().data();
  time_.push_back(simulation.time());
  angle_.push_back(states.crank.load(x).angle);
  work_.push_back(states.totals.load(x).brake_work);
  pump_.push_back(carburetor.totals.load(x).pump);
  lift_.push_back(carburetor.piston.fitted() ? carburetor.piston.load(x).lift : 0.0);
}

std::vector<ResponseTrack::Point> ResponseTrack::cycle_means() const {
  std::vector<Point> out;
  std::size_t before = 0;
  for (std::size_t i = 1; i < time_.size(); ++i) {
    const double target = angle_[i] - cycle_angle;
    if (target < angle_.front()) continue;
    while (before + 1 < i && angle_[before + 1] <= target) ++before;
    const double step = angle_[before + 1] - angle_[before];
    const double share = step > 0.0 ? (target - angle_[before]) / step : 0.0;
    const double begin = time_[before] + share * (time_[before + 1] - time_[before]);
    const double work = work_[before] + share * (work_[before + 1] - work_[before]);
    const double value = torque_ ? (work_[i] - work) / cycle_angle : cycle_angle / (time_[i] - begin);
    out.push_back({0.5 * (begin + time_[i]), value});
  }
  return out;
}

std::optional<double> ResponseTrack::first_cycle() const {
  const auto end =
      std::find_if(angle_.begin(), angle_.end(), [&](double a) { return a >= angle_.front() + cycle_angle; });
  if (end == angle_.end()) return std::nullopt;
  return time_[static_cast<std::size_t>(end - angle_.begin())] - time_.front();
}

std::vector<ResponseTrack::Point> ResponseTrack::points(const std::vector<double>& values) const {
  std::vector<Point> out;
  out.reserve(values.size());
  for (std::size_t i = 0; i < values.size(); ++i) out.push_back({time_[i], values[i]});
  return out;
}

std::optional<double> first_rise(const std::vector<ResponseTrack::Point>& curve, double from, double level) {
  for (std::size_t i = 1; i < curve.size(); ++i) {
    if (curve[i].time < from || curve[i].value < level) continue;
    if (curve[i - 1].value >= level) {
      // Above already: it rose before `from`, or on it.
      return std::max(from, curve[i - 1].time);
    }
    const double share = (level - curve[i - 1].value) / (curve[i].value - curve[i - 1].value);
    return std::max(from, curve[i - 1].time + share * (curve[i].time - curve[i - 1].time));
  }
  return std::nullopt;
}

double value_at(const std::vector<ResponseTrack::Point>& curve, double time) {
  if (curve.empty()) return std::numeric_limits<double>::quiet_NaN();
  const auto after = std::lower_bound(curve.begin(), curve.end(), time,
                                      [](const ResponseTrack::Point& p, double t) { return p.time < t; });
  if (after == curve.begin()) return after->value;
  if (after == curve.end()) return curve.back().value;
  const auto before = after - 1;
  return before->value +
         (after->value - before->value) * (time - before->time) / (after->time - before->time);
}

}  // namespace glassbowl::sim
