#pragma once
#include <chrono>
#include <filesystem>

#include "sim/api/trace.hpp"
#include "viz/source/block_cache.hpp"
#include "viz/source/source.hpp"

namespace glassbowl::viz {

/// A trace on disk: finished, cut off, or still being written.
/// Errors   sim::Error of kind `file` (not a trace, damaged) or `case_file` (its case cannot be read).
class TraceSource : public Source {
 public:
  static constexpr std::size_t default_cache = 6000;  ///< blocks of 32 KiB

  /// Opens `path`, or `path`.partial while the run still goes on.
  explicit TraceSource(const std::filesystem::path& path, std::size_t most_blocks = default_cache);

  const std::string& title() const override { return trace_.title(); }
  const sim::DrawingDimensions& geometry() const override { return geometry_; }
  bool running() const override { return running_; }
  std::string status() const override { return trace_.status(); }
  const std::vector<sim::Channel>& channels() const override { return channels_; }
  std::size_t first_row() const override { return 0; }
  std::size_t end_row() const override { return rows_; }
  double row_time(std::size_t row) override;
  double value(int channel, std::size_t row) override;
  void read(int channel, std::size_t row, std::span<double> values) override;
  const std::vector<sim::Channel>& cycle_channels() const override { return cycle_channels_; }
  std::size_t cycles() const override { return cycles_; }
  void read_cycles(int channel, std::size_t first, std::span<double> values) override;
  void refresh() override;

  const sim::TraceReader& trace() const { return trace_; }
  std::size_t blocks_held() const { return cache_.held(); }

 private:
  double at(std::size_t channel, const std::string& name, std::size_t row);

  sim::TraceReader trace_;
  BlockCache cache_;
  std::vector<sim::Channel> channels_, cycle_channels_;
  std::unordered_map<int, std::vector<double>> cycle_columns_;  // those that were asked for
  sim::DrawingDimensions geometry_;
  std::size_t rows_ = 0, cycles_ = 0;
  bool running_ = false;
  std::chrono::steady_clock::time_point looked_;
};

}  // namespace glassbowl::viz
