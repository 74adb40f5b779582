#pragma once

#include <chrono>
#include <cstddef>
#include <filesystem>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "sim/api/channel.hpp"
#include "sim/api/drawing_dimensions.hpp"

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

/// Keys of the case that were changed by hand, with the values they have now.
using LiveChanges = std::map<std::string, std::string>;

/// How a live bike begins again: with its changed keys, or with parts and faults as in its case.
enum class LiveRestart { keep_changes, as_in_case };

/// How long a snapped throttle kept its rider waiting; NaN where it was not reached.
struct LiveBlip {
  double half = 0.0;     ///< [s] to half of the rise, later than with an ideal mixture
  double most = 0.0;     ///< [s] to nine tenths of it
  double leanest = 0.0;  ///< [-] trapped lambda
  long misfires = 0;
  std::string note;  ///< why figures are missing, empty if none are
};

/// What a live simulation has done since it was last asked.
struct LiveBatch {
  std::vector<double> times;         ///< [s] of each row
  std::vector<float> values;         ///< rows of all crank-resolved channels, one behind another
  std::vector<double> cycle_values;  ///< rows of all cycle-averaged channels
  std::size_t cycles = 0;
  bool restarted = false;      ///< the run began anew before these rows
  bool stalled = false;        ///< the engine has stopped by itself
  double achieved_rate = 0.0;  ///< simulated seconds per second, measured
  LiveControls controls;       ///< that hands and world have been set to
  LiveChanges changes;         ///< keys that differ from the case at the last row
  std::size_t handled = 0;     ///< requests that have been carried out or refused, of `requests`
  bool recording = false;
  std::optional<DrawingDimensions> geometry;  ///< set when a part was changed
  std::optional<LiveBlip> blip;               ///< set when a snapped throttle has been judged
  std::vector<std::string> messages;          ///< for the reader: refused changes, what was recorded
};

/// Simulated time that passes with real time, at a rate. Several live bikes that share one stay in step: the
/// fastest waits for the slowest, and time that the slowest cannot keep up with is given up by all.
/// Threads  Any thread may call anything.
class LiveClock {
 public:
  void set_rate(double rate);  ///< simulated seconds per second, 1 at first
  void set_paused(bool paused);

  /// A bike that runs by this clock; it holds the others back until its first `goal`.
  std::size_t join();
  void leave(std::size_t bike);  ///< it has stopped: nobody waits for it any more
  void begin(std::size_t bike);  ///< it starts anew: everybody waits until it is there
  /// Time [s] up to which this bike, which stands at `time`, may run now.
  double goal(std::size_t bike, double time);

 private:
  using Wall = std::chrono::steady_clock;
  void anchor(double time);
  double slowest() const;

  mutable std::mutex mutex_;
  std::vector<double> times_;  // [s] of each bike; -inf before it is there, +inf once it has stopped
  double rate_ = 1.0, time_anchor_ = 0.0;
  bool paused_ = true;
  Wall::time_point wall_anchor_ = Wall::now();
};

/// A bike that runs as one looks: a simulation owned by a thread of its own. Commands go in by a queue,
/// what happened comes out by a triple buffer; neither side waits for the other.
class LiveBench {
 public:
  static constexpr std::size_t most_waiting_rows = 20000;  ///< older rows are dropped when nobody asks

  /// Reads the case or trace that `given` names ("blip", a file, or "blip+courier_650": a shipped ride on a
  /// shipped bike) and starts at its time 0, settled, when its clock runs.
  /// Errors   Error{input}, Error{case_file} as when a case is run.
  LiveBench(const std::string& given, const std::vector<std::string>& sets, std::shared_ptr<LiveClock> clock);
  ~LiveBench();
  LiveBench(const LiveBench&) = delete;
  LiveBench& operator=(const LiveBench&) = delete;

  const std::string& title() const;
  const std::vector<Channel>& channels() const;
  const std::vector<Channel>& cycle_channels() const;
  const DrawingDimensions& geometry() const;  ///< as the case gave it

  void set_controls(const LiveControls& controls);
  void set_row_interval(double seconds);  ///< [s] between rows
  /// Changes one key of the case, such as "carburetor.main.jet.bore" to "1.60 mm", while the bike runs on;
  /// an empty value gives back what the case says.
  void set_key(const std::string& key, const std::string& value);
  /// The same for all keys at once: those that are not in `changes` are as in the case again.
  void set_changes(const LiveChanges& changes);
  /// Snaps the throttle open to `opening` after a short wait, holds it for `hold` [s], and says the lag.
  void snap(double opening, double hold);
  void reset(LiveRestart how = LiveRestart::keep_changes);
  /// Until `stop_recording`; a file that is there already is refused by a message.
  void record(const std::filesystem::path& trace);
  void stop_recording();

  std::size_t requests() const;  ///< that were made so far

  /// Everything since the last call; false when nothing is new.
  bool take(LiveBatch& batch);

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace glassbowl::sim
