#include "viz/sound/wave_file.hpp"

#include <fmt/format.h>
#include <sndfile.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <memory>
#include <new>
#include <string>
#include <vector>

#include "sim/api/error.hpp"
#include "sim/api/new_file.hpp"
#include "viz/sound/monopole.hpp"

namespace glassbowl::viz {
namespace {

constexpr int samples_per_second = 48000;
constexpr double headroom = 0.89;   // of full scale that the loudest sample takes
constexpr double longest = 1800.0;  // [s] of a file

/// A file in memory, which libsndfile fills: it returns to the head to write the length.
struct Memory {
  std::string bytes;
  std::size_t at = 0;

  static Memory& of(void* data) { return *static_cast<Memory*>(data); }
  static sf_count_t length(void* data) { return static_cast<sf_count_t>(of(data).bytes.size()); }
  static sf_count_t tell(void* data) { return static_cast<sf_count_t>(of(data).at); }
  static sf_count_t seek(sf_count_t offset, int whence, void* data) {
    const sf_count_t to = offset + (whence == SEEK_SET ? 0 : whence == SEEK_CUR ? tell(data) : length(data));
    if (to < 0) return -1;
    of(data).at = static_cast<std::size_t>(to);
    return to;
  }
  static sf_count_t read(void* to, sf_count_t count, void* data) {
    Memory& m = of(data);
    const std::size_t there = m.bytes.size() - std::min(m.at, m.bytes.size());
    const std::size_t n = std::min(there, static_cast<std::size_t>(count));
    std::memcpy(to, m.bytes.data() + m.at, n);
    m.at += n;
    return static_cast<sf_count_t>(n);
  }
  static sf_count_t write(const void* from, sf_count_t count, void* data) {
    Memory& m = of(data);
    const auto n = static_cast<std::size_t>(count);
    try {
      if (m.bytes.size() < m.at + n) m.bytes.resize(m.at + n);
    } catch (const std::bad_alloc&) {
      return 0;  // no exception passes the library, which reports a short write
    }
    std::memcpy(m.bytes.data() + m.at, from, n);
    m.at += n;
    return count;
  }
};

}  // namespace

SoundFigures write_sound(Source& source, const SoundPlan& plan) {
  sim::check_output(plan.target, plan.replace);
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

  SF_INFO info{};
  info.samplerate = samples_per_second;
  info.channels = 1;
  info.format = SF_FORMAT_WAV | SF_FORMAT_PCM_16;
  Memory memory;
  SF_VIRTUAL_IO access{Memory::length, Memory::seek, Memory::read, Memory::write, Memory::tell};
  const auto check = [&](bool done, SNDFILE* file) {
    if (!done)
      throw sim::Error(sim::ErrorKind::file,
                       plan.target.string() + ": could not be made: " + sf_strerror(file));
  };
  {
    const std::unique_ptr<SNDFILE, int (*)(SNDFILE*)> file(
        sf_open_virtual(&access, SFM_WRITE, &info, &memory), sf_close);
    check(file != nullptr, nullptr);
    sf_set_string(file.get(), SF_STR_TITLE, source.title().c_str());
    sf_set_string(file.get(), SF_STR_COMMENT,
                  fmt::format("computed from mass flows, free field at {:.3g} m, full scale {:.4g} Pa",
                              plan.distance, out.full_scale)
                      .c_str());
    const auto whole = static_cast<sf_count_t>(count);
    check(sf_write_float(file.get(), samples.data(), whole) == whole, file.get());
  }
  sim::write_new_file(plan.target, plan.replace, memory.bytes);
  return out;
}

}  // namespace glassbowl::viz
