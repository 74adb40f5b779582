#include "viz/sound/wave_file.hpp"

#include <fmt/format.h>
#include <sndfile.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <vector>

#include "sim/api/error.hpp"
#include "viz/sound/monopole.hpp"

namespace glassbowl::viz {
namespace {

namespace fs = std::filesystem;
constexpr int samples_per_second = 48000;
constexpr double headroom = 0.89;   // of full scale that the loudest sample takes
constexpr double longest = 1800.0;  // [s] of a file

}  // namespace

SoundFigures write_sound(Source& source, const SoundPlan& plan) {
  std::error_code failure;
  if (!plan.replace && fs::exists(plan.target, failure))
    throw sim::Error(sim::ErrorKind::input,
                     plan.target.string() + ": is there already; give --force or another name");
  EngineSound sound(source);
  sound.listener.distance = plan.distance;
  if (!sound.known())
    throw sim::Error(sim::ErrorKind::input,
                     "this trace holds no flow through exhaust or inlet: nothing to hear");
  const double first = source.first_time(), last = source.last_time();
  const double from = std::clamp(plan.from.value_or(first), first, last),
               to = std::clamp(plan.to.value_or(last), first, last);
  const double seconds = std::min(longest, (to - from) / plan.rate);
  if (!(seconds > 0.0)) throw sim::Error(sim::ErrorKind::input, "the span to export is empty");
  const auto count = static_cast<std::size_t>(seconds * samples_per_second);
  const double step = plan.rate / samples_per_second;
  // From the moment at which the first sound arrives.
  const auto pressure = sound.pressure(from + plan.distance / sound.listener.sound_speed, step, count);
  double peak = 0.0;
  for (const double p : pressure) peak = std::max(peak, std::abs(p));
  SoundFigures out{seconds, std::max(peak, 1e-9) / headroom, sound_level(pressure)};
  std::vector<float> samples(count);
  for (std::size_t i = 0; i < count; ++i) samples[i] = static_cast<float>(pressure[i] / out.full_scale);

  const fs::path unfinished = plan.target.string() + ".unfinished.wav";
  SF_INFO info{};
  info.samplerate = samples_per_second;
  info.channels = 1;
  info.format = SF_FORMAT_WAV | SF_FORMAT_PCM_16;
  const auto fail = [&](const std::string& why) {
    fs::remove(unfinished, failure);
    throw sim::Error(sim::ErrorKind::file, plan.target.string() + ": could not be written: " + why);
  };
  {
    const std::unique_ptr<SNDFILE, int (*)(SNDFILE*)> file(sf_open(unfinished.c_str(), SFM_WRITE, &info),
                                                           sf_close);
    if (!file) fail(sf_strerror(nullptr));
    sf_set_string(file.get(), SF_STR_TITLE, source.title().c_str());
    sf_set_string(file.get(), SF_STR_COMMENT,
                  fmt::format("computed from mass flows, free field at {:.3g} m, full scale {:.4g} Pa",
                              plan.distance, out.full_scale)
                      .c_str());
    if (sf_write_float(file.get(), samples.data(), static_cast<sf_count_t>(count)) !=
        static_cast<sf_count_t>(count))
      fail(sf_strerror(file.get()));
  }
  fs::rename(unfinished, plan.target, failure);
  if (failure) fail(failure.message());
  return out;
}

}  // namespace glassbowl::viz
