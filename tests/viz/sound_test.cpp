#include <sndfile.h>

#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <functional>
#include <numeric>

#include "sim/api/error.hpp"
#include "tests/viz/run_files.hpp"
#include "viz/sound/monopole.hpp"
#include "viz/sound/wave_file.hpp"
#include "viz/source/trace_source.hpp"

namespace glassbowl::viz {
namespace {

constexpr double pi = 3.14159265358979323846;

/// Pressure of a flow that is given as a function, in rows 0.1 ms apart as in a trace.
std::vector<double> heard(const std::function<double(double)>& flow, const Listener& listener, double from,
                          double to, double step = 1.0 / 48000) {
  std::vector<double> t, m;
  for (double at = from - 0.2; at < to + 0.2; at += 1e-4) t.push_back(at), m.push_back(flow(at));
  return monopole_pressure(t, m, listener, from, step, static_cast<std::size_t>((to - from) / step + 0.5));
}

double rms(const std::vector<double>& p) {
  return std::sqrt(std::inner_product(p.begin(), p.end(), p.begin(), 0.0) / static_cast<double>(p.size()));
}

/// Amplitude of one frequency in samples of a whole number of its periods.
double amplitude(const std::vector<double>& p, double step, double frequency) {
  double re = 0, im = 0;
  for (std::size_t i = 0; i < p.size(); ++i) {
    const double phase = 2 * pi * frequency * static_cast<double>(i) * step;
    re += p[i] * std::cos(phase), im += p[i] * std::sin(phase);
  }
  return 2.0 * std::hypot(re, im) / static_cast<double>(p.size());
}

}  // namespace

// Worked out from Vigran, Building Acoustics, 2008, eq. 3.37: p = 2 pi f m / (4 pi r) for a flow of amplitude
// m.
TEST_CASE("sound: 1 g/s at 100 Hz gives 0.035355 Pa at 1 m, and 2 g/s at 250 Hz 61.43 dB at 7.5 m",
          "[viz][sound]") {
  const auto near =
      heard([](double t) { return 1e-3 * std::sin(2 * pi * 100 * t); }, {1.0, 343.0, 0.0}, 0, 1);
  CHECK(rms(near) == Approx(0.035355).epsilon(2e-3));
  CHECK(sound_level(near) == Approx(64.95).margin(0.02));
  const auto far = heard([](double t) { return 2e-3 * std::sin(2 * pi * 250 * t); }, {7.5, 343.0, 0.0}, 0, 1);
  CHECK(sound_level(far) == Approx(61.43).margin(0.05));
  CHECK(sound_level(std::vector<double>(100, 20e-6)) == Approx(0.0).margin(1e-9));
}

TEST_CASE("sound: a pulse arrives after its way, and its pressure adds up to nothing over time",
          "[viz][sound]") {
  const auto pulse = [](double t) {
    return t > 0.01 && t < 0.02 ? 5e-3 * std::pow(std::sin(pi * (t - 0.01) / 0.01), 2) : 0.0;
  };
  const Listener listener{10.0, 340.0, 0.0};
  const double step = 1.0 / 48000;
  const auto p = heard(pulse, listener, 0.0, 0.1, step);
  double sum = 0, most = 0;
  std::size_t first = 0;
  for (std::size_t i = 0; i < p.size(); ++i) {
    sum += p[i] * step;
    most = std::max(most, std::abs(p[i]));
    if (first == 0 && std::abs(p[i]) > 1e-7) first = i;
  }
  CHECK(std::abs(sum) < 1e-4 * most * 0.01);
  CHECK(static_cast<double>(first) * step == Approx(0.01 + 10.0 / 340.0).margin(5e-4));
}

TEST_CASE("sound: a first-order low pass takes 3.01 dB at its corner, in pieces as in one", "[viz][sound]") {
  const double step = 1.0 / 48000;
  auto p = heard([](double t) { return 1e-3 * std::sin(2 * pi * 500 * t); }, {}, 0, 0.4);
  auto pieces = p;
  const double before = rms(p);
  LowPass whole, halves;
  whole.apply(p, 500, step);
  halves.apply(std::span(pieces).first(1000), 500, step);
  halves.apply(std::span(pieces).subspan(1000), 500, step);
  CHECK(20 * std::log10(rms(p) / before) == Approx(-3.01).margin(0.3));
  CHECK(p == pieces);
}

TEST_CASE("sound: the firing orders of the V-twin appear at their frequencies", "[viz][sound]") {
  // Held 3,000 rpm: an engine cycle of 40 ms, so all sound lies at multiples of 25 Hz.
  TraceSource source(RunFiles::starved());
  EngineSound sound(source);
  REQUIRE(sound.known());
  const double step = 1.0 / 24000;
  const auto p = sound.pressure(0.05, step, static_cast<std::size_t>(0.4 / step));  // ten cycles
  double on = 0, off = 0;
  for (int order = 1; order <= 8; ++order) {
    on += amplitude(p, step, 25.0 * order);
    off += amplitude(p, step, 25.0 * order + 12.5);
  }
  CHECK(on > 10 * off);
  // Two charges a cycle, unevenly apart: the odd half orders are there too.
  CHECK(amplitude(p, step, 50) > 5 * off / 8);
  CHECK(amplitude(p, step, 25) > 5 * off / 8);
  CHECK(sound_level(p) > 60);
  CHECK(sound_level(p) < 160);
}

TEST_CASE("sound: half the rate is half the pitch", "[viz][sound]") {
  TraceSource source(RunFiles::starved());
  EngineSound sound(source);
  const double step = 1.0 / 24000;
  const auto real = sound.pressure(0.05, step, static_cast<std::size_t>(0.4 / step)),
             slow = sound.pressure(0.05, 0.5 * step, static_cast<std::size_t>(0.8 / step));
  CHECK(amplitude(slow, step, 25) == Approx(amplitude(real, step, 50)).epsilon(0.02));
}

TEST_CASE("sound: a WAV file is written without a display, whole, and never over another", "[viz][sound]") {
  const auto file = RunFiles::folder() / "sound.wav";
  const std::string call = std::string("env -u DISPLAY ") + GLASSBOWL_VIEW + " " + RunFiles::idle().string() +
                           " --export " + file.string() + " > /dev/null 2>&1";
  CHECK(std::system(call.c_str()) == 0);
  SF_INFO info{};
  SNDFILE* sound = sf_open(file.c_str(), SFM_READ, &info);
  REQUIRE(sound != nullptr);
  CHECK(info.samplerate == 48000);
  CHECK(static_cast<double>(info.frames) / 48000.0 == Approx(0.6).margin(0.01));
  std::vector<float> samples(static_cast<std::size_t>(info.frames));
  sf_read_float(sound, samples.data(), info.frames);
  sf_close(sound);
  CHECK(*std::max_element(samples.begin(), samples.end()) > 0.2F);
  CHECK(*std::max_element(samples.begin(), samples.end()) <= 0.9F);
  TraceSource source(RunFiles::idle());
  SoundPlan plan;
  plan.target = file;
  CHECK_THROWS_AS(write_sound(source, plan), sim::Error);
  plan.target = RunFiles::folder() / "no_such_folder" / "a.wav";
  CHECK_THROWS_AS(write_sound(source, plan), sim::Error);
}

}  // namespace glassbowl::viz
