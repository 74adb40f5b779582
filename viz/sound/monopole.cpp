#include "viz/sound/monopole.hpp"

#include <algorithm>
#include <cmath>

namespace glassbowl::viz {
namespace {

constexpr double pi = 3.14159265358979323846;
constexpr double reference_pressure = 20e-6;  // [Pa] ISO 1683

/// Slope at row i of a parabola through it and its neighbours.
double slope(std::span<const double> t, std::span<const double> m, std::size_t i) {
  const std::size_t n = t.size();
  if (i == 0) return (m[1] - m[0]) / (t[1] - t[0]);
  if (i + 1 == n) return (m[n - 1] - m[n - 2]) / (t[n - 1] - t[n - 2]);
  const double a = t[i] - t[i - 1], b = t[i + 1] - t[i];
  const double before = (m[i] - m[i - 1]) / a, after = (m[i + 1] - m[i]) / b;
  return (b * before + a * after) / (a + b);
}

}  // namespace

std::vector<double> monopole_pressure(std::span<const double> times, std::span<const double> flow,
                                      const Listener& listener, double from, double step, std::size_t count) {
  std::vector<double> out(count, 0.0);
  if (times.size() < 2) return out;
  const double strength = 1.0 / (4.0 * pi * listener.distance);
  const double delay = listener.distance / listener.sound_speed;
  std::size_t row = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const double t = from + static_cast<double>(i) * step - delay;
    if (t < times.front() || t > times.back()) continue;
    while (row + 2 < times.size() && times[row + 1] <= t) ++row;
    // Derivative of the Hermite cubic between two rows.
    const double h = times[row + 1] - times[row], u = (t - times[row]) / h;
    const double chord = (flow[row + 1] - flow[row]) / h;
    const double rate = 6.0 * u * (1.0 - u) * chord + (1.0 - u) * (1.0 - 3.0 * u) * slope(times, flow, row) +
                        u * (3.0 * u - 2.0) * slope(times, flow, row + 1);
    if (std::isfinite(rate)) out[i] = strength * rate;
  }
  return out;
}

void LowPass::apply(std::span<double> samples, double cutoff, double step) {
  if (cutoff <= 0.0) return;
  const double share = 1.0 - std::exp(-2.0 * pi * cutoff * step);
  for (double& sample : samples) sample = last_ += share * (sample - last_);
}

EngineSound::EngineSound(Source& source)
    : source_(source), outlet_(source.find("outlet_flow")), inlet_(source.find("filter_flow")) {}

std::vector<double> EngineSound::pressure(double from, double step, std::size_t count) {
  if (source_.empty() || !known() || count == 0) return std::vector<double>(count, 0.0);
  const double delay = listener.distance / listener.sound_speed;
  const double to = from + static_cast<double>(count) * step;
  const std::size_t first = source_.row_at(from - delay), last = source_.row_at(to - delay);
  const std::size_t begin = first > source_.first_row() + 2 ? first - 2 : source_.first_row();
  const std::size_t end = std::min(source_.end_row(), last + 3);
  std::vector<double> times, flow;
  for (std::size_t row = begin; row < end; ++row) {
    // What leaves the exhaust pushes the air, what enters the inlet draws it.
    const double out = outlet_ == no_channel ? 0.0 : source_.value(outlet_, row);
    const double in = inlet_ == no_channel ? 0.0 : source_.value(inlet_, row);
    if (!std::isfinite(out) || !std::isfinite(in)) continue;
    times.push_back(source_.row_time(row));
    flow.push_back(out - in);
  }
  auto samples = monopole_pressure(times, flow, listener, from, step, count);
  low_pass_.apply(samples, listener.cutoff, step);
  return samples;
}

double sound_level(std::span<const double> pressure) {
  double sum = 0.0;
  for (const double p : pressure) sum += p * p;
  const double mean = sum / static_cast<double>(std::max<std::size_t>(1, pressure.size()));
  return 10.0 * std::log10(std::max(1e-30, mean) / (reference_pressure * reference_pressure));
}

}  // namespace glassbowl::viz
