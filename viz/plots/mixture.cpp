#include "viz/plots/mixture.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/api/no_fuel.hpp"

namespace glassbowl::viz {
namespace {

constexpr double under_load = 0.35;  // [-] filling above which a misfire or a lean charge counts
constexpr double pi = 3.14159265358979323846;
constexpr double standard_density = 1.225;  // [kg/m3] of air at sea level (ISO 2533)

}  // namespace

std::string lambda_text(double lambda) {
  if (std::isnan(lambda)) return "–";
  return sim::no_fuel(lambda) ? "no fuel" : fmt::format("{:.2f}", lambda);
}

Mixture::Mixture(Source& source)
    : source_(source),
      start_(source.find_cycle("cycle_start")),
      duration_(source.find_cycle("cycle_duration")) {
  for (std::size_t k = 0; k < source.geometry().firing.size(); ++k) {
    const std::string name = "cycle_cylinder_" + std::to_string(k + 1) + "_";
    const Channels c{source.find_cycle(name + "lambda"), source.find_cycle(name + "residual"),
                     source.find_cycle(name + "ignited"), source.find_cycle(name + "mass")};
    if (c.lambda != no_channel && c.residual != no_channel && c.ignited != no_channel && c.mass != no_channel)
      cylinders_.push_back(c);
  }
}

MixtureCycle Mixture::cycle(std::size_t number) const {
  const auto read = [&](int channel) {
    double value = std::nan("");
    source_.read_cycles(channel, number, {&value, 1});
    return value;
  };
  const auto& g = source_.geometry();
  const double displacement = 0.25 * pi * g.cylinder_bore * g.cylinder_bore * g.stroke;
  MixtureCycle out;
  out.start = read(start_);
  out.duration = read(duration_);
  double fullest = 0.0;
  for (const auto& c : cylinders_) {
    MixtureCycle::Cylinder one;
    one.lambda = read(c.lambda);
    const double air_to_fuel = one.lambda * g.stoichiometric_ratio;
    const double air = read(c.mass) * (1.0 - read(c.residual)) * air_to_fuel / (1.0 + air_to_fuel);
    one.filling = air / (standard_density * displacement);
    one.fired = !sim::misfired(read(c.ignited));
    if (one.filling > fullest) fullest = one.filling;
    out.cylinders.push_back(one);
  }
  out.limit = sim::lean_limit_at(fullest);
  return out;
}

std::vector<MixtureCycle> Mixture::between(double from, double to) const {
  std::vector<MixtureCycle> out;
  if (cylinders_.empty() || start_ == no_channel || duration_ == no_channel || source_.empty()) return out;
  const std::ptrdiff_t first = std::max<std::ptrdiff_t>(0, source_.cycle_at(from));
  for (auto i = static_cast<std::size_t>(first); i < source_.cycles(); ++i) {
    MixtureCycle one = cycle(i);
    if (one.start > to) break;
    if (one.start + one.duration > from) out.push_back(std::move(one));
  }
  return out;
}

std::string Mixture::alarm(double time) const {
  if (cylinders_.empty() || start_ == no_channel || source_.empty()) return "";
  const std::ptrdiff_t number = source_.cycle_at(time);
  if (number < 0) return "";
  // A charge that was trapped in the cycle before burns in this one.
  const MixtureCycle now = cycle(static_cast<std::size_t>(number)),
                     before = cycle(static_cast<std::size_t>(std::max<std::ptrdiff_t>(0, number - 1)));
  std::string text;
  for (std::size_t k = 0; k < now.cylinders.size(); ++k)
    for (const auto* c : {&now.cylinders[k], &before.cylinders[k]}) {
      const double limit = sim::lean_limit_at(c->filling);
      if (c->filling < under_load || (c->fired && !(c->lambda > limit))) continue;
      text += text.empty() ? "" : "    ";
      text += fmt::format("Cylinder {}: ", k + 1);
      text += c->fired ? fmt::format("lambda {}, lean limit {:.2f}", lambda_text(c->lambda), limit)
                       : fmt::format("misfire, lambda {}", lambda_text(c->lambda));
      break;
    }
  return text;
}

}  // namespace glassbowl::viz
