#include "viz/sound/speaker.hpp"

#include <SFML/Audio/SoundStream.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <deque>
#include <mutex>

#include "viz/quiet.hpp"

namespace glassbowl::viz {
namespace {

constexpr unsigned samples_per_second = 44100;
constexpr std::size_t chunk = 1024;
constexpr std::size_t most_waiting = samples_per_second / 4;

}  // namespace

/// Samples go in by the thread that draws and come out by the one of the sound card.
class Speaker::Stream : public sf::SoundStream {
 public:
  Stream() { initialize(1, samples_per_second); }
  ~Stream() override { stop(); }

  void put(const std::vector<float>& samples) {
    const std::lock_guard lock(mutex_);
    waiting_.insert(waiting_.end(), samples.begin(), samples.end());
    while (waiting_.size() > most_waiting) waiting_.pop_front();
  }

 private:
  bool onGetData(Chunk& data) override {
    const std::lock_guard lock(mutex_);
    for (auto& sample : samples_) {
      // Where pictures come late the last value fades, so that nothing clicks.
      if (waiting_.empty()) {
        last_ *= 0.995F;
      } else {
        last_ = waiting_.front();
        waiting_.pop_front();
      }
      sample = static_cast<sf::Int16>(std::clamp(last_, -1.0F, 1.0F) * 32000.0F);
    }
    data.samples = samples_.data();
    data.sampleCount = samples_.size();
    return true;
  }
  void onSeek(sf::Time) override {}

  std::mutex mutex_;
  std::deque<float> waiting_;
  std::array<sf::Int16, chunk> samples_{};
  float last_ = 0.0F;
};

Speaker::Speaker() = default;
Speaker::~Speaker() = default;

void Speaker::set_volume(float volume) {
  volume_ = std::clamp(volume, 0.0F, 1.0F);
  if (volume_ > 0.0F && !stream_) {
    const Quiet quiet;
    stream_ = std::make_unique<Stream>();
    stream_->play();
  }
  if (stream_) stream_->setVolume(100.0F * volume_);
}

void Speaker::play(Source& source, double from, double to, double wall) {
  if (!stream_ || volume_ <= 0.0F || !(to > from) || !(wall > 0.0)) return;
  if (source_ != &source) {
    sound_ = std::make_unique<EngineSound>(source);
    source_ = &source;
  }
  owed_ = std::min(owed_ + wall * samples_per_second, static_cast<double>(most_waiting));
  const auto count = static_cast<std::size_t>(owed_);
  owed_ -= static_cast<double>(count);
  if (count == 0) return;
  const double delay = sound_->listener.distance / sound_->listener.sound_speed;
  const auto pressure = sound_->pressure(from + delay, (to - from) / static_cast<double>(count), count);
  std::vector<float> samples;
  for (const double p : pressure) {
    loudest_ = std::max(std::abs(p), loudest_ * 0.999998);
    samples.push_back(static_cast<float>(0.8 * p / std::max(0.05, loudest_)));
  }
  stream_->put(samples);
}

}  // namespace glassbowl::viz
