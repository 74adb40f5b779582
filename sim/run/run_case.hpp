#pragma once
#include <atomic>
#include <filesystem>
#include <functional>
#include <optional>
#include <span>

#include "sim/bike/resolved_case.hpp"
#include "sim/run/summary.hpp"

namespace glassbowl::sim {

/// What to keep of a run, and who listens.
struct RunRequest {
  std::optional<std::filesystem::path> trace;  ///< HDF5 file to write
  std::optional<std::filesystem::path> csv;    ///< cycle-averaged channels as text
  /// Called with time or cycle number and what a trace would get: all channels in the order of
  /// `all_channels`.
  std::function<void(double, std::span<const double>)> time_row, cycle_row;
  bool force = false;  ///< replace these if they are there
  /// Called now and then: done share 0..1 and simulated time [s].
  std::function<void(double, double)> progress;
  const std::atomic<bool>* stop = nullptr;  ///< set by others: end the run at the next row
};

/// Runs a case from `-settle` to `duration`. Rows of the trace and figures of the summary count from time 0.
/// Steps land on rows and on corners of the schedules whether or not a trace is kept, so keeping one changes
/// no figure.
///
/// A stall or a stop ends the run early: files are finished and the summary says so, a stall with its cause.
/// Errors  `Error`: of kind `solver` when the computation fails, of kind `file` when a file cannot be
///         written, of kind `input`, before anything begins, when one cannot have its name. Files then stay
///         as
///         `<name>.partial`, with all rows up to that point, which the message says; without a row none
///         stays.
Summary run_case(const ResolvedCase& resolved, const RunRequest& request);

}  // namespace glassbowl::sim
