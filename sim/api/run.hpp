#pragma once
#include <atomic>
#include <filesystem>
#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "sim/api/case.hpp"

namespace glassbowl::sim {

/// What to keep of a run, and who listens.
struct RunSettings {
  std::filesystem::path trace;                   ///< HDF5 file to write; empty: none
  std::filesystem::path csv;                     ///< cycle-averaged channels as text; empty: none
  bool replace = false;                          ///< these files if they are there
  std::function<void(double, double)> progress;  ///< called now and then: done share 0..1, simulated time [s]
  const std::atomic<bool>* stop = nullptr;       ///< set by others: end the run at the next row
};

/// What came of a run. A stall or a stop ends it early; the text says when and why.
struct RunResults {
  bool complete = false, stalled = false;
  std::string text;     ///< the summary in plain words and the units of the workshop
  std::string caution;  ///< what must be said beside it, else empty
  std::string json;     ///< the summary for scripts
  std::vector<std::pair<std::string, double>> numbers;  ///< as `TraceReader::summary` gives them

  /// One of `numbers`, such as "lambda_carburetor". Throws std::out_of_range for any other name.
  double number(std::string_view name) const;
};

/// Runs a case. The trace, if one is kept, is read by `TraceReader`.
/// Errors  `Error` of kind `solver`, `file` or `input`, see ErrorKind.
RunResults run(const Case& ride, const RunSettings& settings = {});

/// A case computed in a thread of its own, to a trace.
class BackgroundRun {
 public:
  /// `given` and `sets` as `Case` takes them.
  BackgroundRun(std::string given, std::filesystem::path trace, std::vector<std::string> sets = {});
  ~BackgroundRun();  ///< a run that still goes on is stopped
  BackgroundRun(const BackgroundRun&) = delete;
  BackgroundRun& operator=(const BackgroundRun&) = delete;

  const std::filesystem::path& trace() const;
  double done() const;  ///< 0 .. 1
  bool finished() const;
  /// Why it failed; empty if it has not.
  std::string problem() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace glassbowl::sim
