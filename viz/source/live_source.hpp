#pragma once
#include <deque>
#include <utility>

#include "sim/api/live_bench.hpp"
#include "viz/source/source.hpp"

namespace glassbowl::viz {

/// The last seconds of a live bench, kept by column in a ring.
class LiveSource : public Source {
 public:
  static constexpr std::size_t kept_rows = 120000;

  LiveSource(const std::string& given, const std::vector<std::string>& sets,
             std::shared_ptr<sim::LiveClock> clock);

  sim::LiveBench& bench() { return bench_; }
  const sim::LiveBench& bench() const { return bench_; }
  double achieved_rate() const { return achieved_; }
  bool stalled() const { return stalled_; }
  bool recording() const { return recording_; }
  const sim::LiveControls& controls() const { return controls_; }
  /// Whether `controls` and `changes` contain all that was asked of the bench.
  bool answered() const { return handled_ >= bench_.requests(); }
  /// Keys of the case that were changed by hand.
  const sim::LiveChanges& changes() const { return key_changes_; }
  std::size_t changed_keys() const override { return key_changes_.size(); }
  /// The last snapped throttle, once it has been judged.
  const std::optional<sim::LiveBlip>& blip() const { return blip_; }
  /// Messages since the last call.
  std::vector<std::string> take_messages() { return std::exchange(messages_, {}); }

  const std::string& title() const override { return title_; }
  const sim::DrawingDimensions& geometry() const override { return geometry_; }
  int geometry_changes() const override { return changes_; }
  bool running() const override { return !stalled_; }
  std::string status() const override { return stalled_ ? "stalled" : "live"; }
  const std::vector<sim::Channel>& channels() const override { return bench_.channels(); }
  std::size_t first_row() const override { return end_ > kept_rows ? end_ - kept_rows : 0; }
  std::size_t end_row() const override { return end_; }
  double row_time(std::size_t row) override { return times_[row % kept_rows]; }
  double value(int channel, std::size_t row) override;
  void read(int channel, std::size_t row, std::span<double> values) override;
  const std::vector<sim::Channel>& cycle_channels() const override { return bench_.cycle_channels(); }
  std::size_t cycles() const override { return cycles_.size(); }
  void read_cycles(int channel, std::size_t first, std::span<double> values) override;
  void refresh() override;

 private:
  sim::LiveBench bench_;
  std::string title_;
  sim::DrawingDimensions geometry_;
  sim::LiveBatch batch_;
  std::vector<double> times_;
  std::vector<std::vector<float>> columns_;
  std::deque<std::vector<double>> cycles_;
  std::size_t end_ = 0;
  double achieved_ = 0.0;
  bool stalled_ = false, recording_ = false;
  sim::LiveControls controls_;
  sim::LiveChanges key_changes_;
  std::optional<sim::LiveBlip> blip_;
  int changes_ = 0;
  std::size_t handled_ = 0;
  std::vector<std::string> messages_;
};

}  // namespace glassbowl::viz
