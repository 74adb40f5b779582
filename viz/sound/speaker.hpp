#pragma once
#include <memory>
#include <vector>

#include "viz/sound/monopole.hpp"

namespace glassbowl::viz {

/// Plays what a run sounds like while it is shown: its pitch follows slow motion. Silent until a volume is
/// set.
class Speaker {
 public:
  Speaker();
  ~Speaker();
  Speaker(const Speaker&) = delete;
  Speaker& operator=(const Speaker&) = delete;

  /// 0 .. 1; opens the sound card when it first leaves 0.
  void set_volume(float volume);
  float volume() const { return volume_; }
  /// The run goes on from one simulated time to the next within `wall` seconds.
  void play(Source& source, double from, double to, double wall);

 private:
  class Stream;
  std::unique_ptr<Stream> stream_;
  std::unique_ptr<EngineSound> sound_;
  const Source* source_ = nullptr;
  float volume_ = 0.0F;
  double loudest_ = 1.0;  // [Pa] that is played at full volume; falls slowly
  double owed_ = 0.0;     // samples that are due and not yet computed
};

}  // namespace glassbowl::viz
