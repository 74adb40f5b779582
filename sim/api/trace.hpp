#pragma once

#include <cstddef>
#include <filesystem>
#include <limits>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "sim/api/channel.hpp"

namespace glassbowl::sim {

/// Reads a trace: finished, left behind by a killed run, or still being written.
///
/// Only written rows count; a row is written once its time is a number. Channels this program does not know
/// are read like any other; datasets that lie on neither scale are passed over.
/// Errors   `Error` of kind `file`: no such file, not HDF5, cut short, not a trace, no such channel.
class TraceReader {
 public:
  static constexpr std::size_t all = std::numeric_limits<std::size_t>::max();

  explicit TraceReader(std::filesystem::path path);
  ~TraceReader();
  TraceReader(TraceReader&&) noexcept;
  TraceReader& operator=(TraceReader&&) noexcept;

  /// Channels along one dimension, without its scale, sorted as they were written.
  const std::vector<Channel>& channels(Dimension dimension) const;
  bool has(std::string_view name) const;
  const Channel& channel(std::string_view name) const;
  Dimension dimension(std::string_view name) const;

  std::size_t rows() const;    // crank-resolved
  std::size_t cycles() const;  // cycle-averaged

  /// Values of one channel or scale ("time", "cycle") from row `first`: `count` of them or as many as there
  /// are. Costs memory for the values asked for, not for the trace.
  std::vector<double> read(std::string_view name, std::size_t first = 0, std::size_t count = all) const;

  /// The same into the caller's memory; returns how many were there.
  std::size_t read_into(std::string_view name, std::size_t first, std::span<double> values) const;

  const std::string& title() const;
  const std::string& program_version() const;
  const std::string& case_resolved() const;
  const std::string& status() const;  // "running", "complete", "stopped early: <why>"
  bool complete() const;

  /// Numbers stored at the end of the run; empty before.
  const std::vector<std::pair<std::string, double>>& summary() const;

  /// Looks at the file again, for rows written since. A reader of `<name>.partial` follows the file to its
  /// final name when the run ends.
  void refresh();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace glassbowl::sim
