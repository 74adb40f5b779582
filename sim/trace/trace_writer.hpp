#pragma once

#include <cstddef>
#include <filesystem>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "sim/api/channel.hpp"

namespace glassbowl::sim {

/// What a trace says about its run.
struct TraceHeader {
  std::string title;
  std::string version;        // of the program
  std::string case_resolved;  // the complete input as TOML: enough to run it again
};

/// What a trace holds. The scales `time` [s] and `cycle` [1] are added by the writer.
struct TracePlan {
  std::vector<Channel> time_channels;
  std::vector<Channel> cycle_channels;
  std::vector<std::string> summary;  // names `finish` will give; others cost a copy of the file then
  std::size_t expected_rows = 0;     // room reserved at the start; 0 if unknown
  std::size_t expected_cycles = 0;   // more are accepted, at the price of copying the file once per doubling
};

/// Writes the trace of one run to HDF5 as it goes; memory does not grow with simulated time.
///
/// On disk  The run writes `<target>.partial` and takes the name `target` only in `finish`. Killed at any
///          moment, the partial file opens in any HDF5 reader: all structure is written before the first row
///          and only row data follow. Rows not yet written have the time NaN (and hold 0). Rows reach the
///          disk in blocks of 1024 to 8192 by the run's length (cycles: 16), so a kill costs at most one
///          block. Columns that are zero throughout a block are left as holes of the file. A writer that got
///          no row leaves nothing. While the file is laid out it has no name.
/// Errors   `Error` of kind `input`: a name that cannot be taken (`check_output`, `check_partial`); of kind
///          `file`: disk full. The message says what is left where. std::invalid_argument: names or counts
///          that do not fit the plan.
/// Threads  One writer belongs to one thread; several writers and readers may run side by side.
class TraceWriter {
 public:
  TraceWriter(std::filesystem::path target, bool force, const TraceHeader& header, const TracePlan& plan);
  ~TraceWriter();  // unfinished: the partial file stays, with every row given so far, if there is any
  TraceWriter(TraceWriter&&) noexcept;
  TraceWriter& operator=(TraceWriter&&) noexcept;

  /// Appends one crank-resolved row; `values` in the order of the plan, SI or as the plan's units say.
  void time_row(double time, std::span<const double> values);

  /// Appends one cycle-averaged row; `number` counts engine cycles.
  void cycle_row(double number, std::span<const double> values);

  /// Hands all rows given so far to the operating system.
  void flush();

  /// Cuts the file to the rows written, stores `status` ("complete" or "stopped early: <why>", at most 255
  /// bytes are kept) and the summary as root attributes, and gives the file its name. No row may follow, nor
  /// a second try: should it fail, the rows are left in the partial file.
  void finish(std::string_view status, std::span<const std::pair<std::string, double>> summary);

  bool empty() const;  ///< no row yet
  std::filesystem::path partial_path() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace glassbowl::sim
