#pragma once

#include <cstddef>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "sim/api/channel.hpp"
#include "sim/api/geometry.hpp"

namespace glassbowl::sim {

/// What the crank of a live bike drives.
enum class LiveLoad { held_speed, neutral, in_gear };

/// The rider's hands and the world, as they stand.
struct LiveControls {
  double throttle = 0.0;  ///< [-] 0 on the stop .. 1 wide open
  double choke = 0.0;     ///< [-]
  double tap = 1.0;       ///< [-]
  double starter = 0.0;   ///< [-]
  double altitude = 0.0;  ///< [m]
  LiveLoad load = LiveLoad::neutral;
  double speed = 110.0;  ///< [rad/s] for a held speed
};

/// What a live simulation has done since it was last asked.
struct LiveBatch {
  std::vector<double> times;         ///< [s] of each row
  std::vector<float> values;         ///< rows of all crank-resolved channels, one behind another
  std::vector<double> cycle_values;  ///< rows of all cycle-averaged channels
  std::size_t cycles = 0;
  bool restarted = false;            ///< the run began anew before these rows
  bool stalled = false;              ///< the engine has stopped by itself
  double achieved_rate = 0.0;        ///< simulated seconds per second, measured
  std::optional<Geometry> geometry;  ///< set when a part was changed
  std::vector<std::string>
      messages;  ///< for the reader: refused changes, a blip's figures, what was recorded
};

/// A bike that runs as one looks: a simulation owned by a thread of its own. Commands go in by a queue,
/// what happened comes out by a triple buffer; neither side waits for the other.
class LiveBench {
 public:
  static constexpr std::size_t most_waiting_rows = 20000;  ///< older rows are dropped when nobody asks

  /// Reads the case or trace that `given` names and starts at its time 0, settled, at rate 1, paused.
  /// Errors   Error{input}, Error{case_file} as when a case is run.
  LiveBench(const std::string& given, const std::vector<std::string>& sets);
  ~LiveBench();
  LiveBench(const LiveBench&) = delete;
  LiveBench& operator=(const LiveBench&) = delete;

  const std::string& title() const;
  const std::vector<Channel>& channels() const;
  const std::vector<Channel>& cycle_channels() const;
  const Geometry& geometry() const;  ///< as the case gave it

  void set_controls(const LiveControls& controls);
  void set_rate(double rate);             ///< simulated seconds per second
  void set_row_interval(double seconds);  ///< [s] between rows
  void set_paused(bool paused);
  /// Changes one key of the case, such as "carburetor.main.jet.bore" to "1.60 mm", while the bike runs on.
  void set_key(const std::string& key, const std::string& value);
  /// Snaps the throttle open to `opening` after a short wait, holds it for `hold` [s], and says the lag.
  void snap(double opening, double hold);
  void reset();
  void record(const std::filesystem::path& trace);  ///< until `stop_recording`
  void stop_recording();

  /// Everything since the last call; false when nothing is new.
  bool take(LiveBatch& batch);

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace glassbowl::sim
