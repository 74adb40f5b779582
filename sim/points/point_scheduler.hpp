#pragma once

#include <atomic>
#include <functional>
#include <optional>
#include <stdexcept>
#include <string>
#include <unordered_map>
#include <unordered_set>
#include <vector>

#include "sim/points/point_journal.hpp"
#include "sim/solver/march.hpp"

namespace glassbowl::sim {

/// One computation of a study, a pure function of what `key` says in full: its result does not depend on
/// order, threads, neighbours or on what was computed before. Every point starts cold. Either `compute` gives
/// it, or `march` leaves it in its argument, several of which may go side by side.
struct PointTask {
  std::string key;
  std::function<PointResult()> compute = {};
  std::function<March(PointResult& result)> march = {};
  const void* batch = nullptr;  ///< tasks that follow one another with the same mark may change places ...
  double effort = 0.0;          ///< ... by this, in any one measure: what takes longest is begun first
  std::string name = {};        ///< what users call it, should it fail
};

/// A point that could not be computed.
struct PointFailure {
  std::string name, why_not;
};

/// Somebody asked the study to stop; what was finished is in the journal.
class StudyInterrupted : public std::runtime_error {
 public:
  StudyInterrupted() : std::runtime_error("interrupted") {}
};

/// Computes points on all cores, or with as many threads as the system lets it have, and keeps each in the
/// journal as soon as it is finished; without a journal it remembers them itself. No point is computed twice.
class PointScheduler {
 public:
  /// `journal` and `stop` may be null; `threads` 0 takes one per core.
  PointScheduler(PointJournal* journal, unsigned threads, const std::atomic<bool>* stop = nullptr,
                 std::function<void(std::size_t done, std::size_t of)> progress = {});

  /// Announces points to come, for the progress shown.
  void expect(std::size_t points);
  /// Results in the order of `tasks`. Throws StudyInterrupted, and what a task throws.
  std::vector<std::vector<double>> run(const std::vector<PointTask>& tasks);

  /// All points asked for so far that could not be computed, in the order in which they were asked for.
  const std::vector<PointFailure>& failures() const { return failures_; }

  std::size_t computed() const { return computed_; }
  std::size_t taken_over() const { return taken_over_; }

 private:
  std::optional<PointResult> find(const std::string& key) const;

  PointJournal* journal_;
  std::unordered_map<std::string, PointResult> remembered_;
  std::vector<PointFailure> failures_;
  std::unordered_set<std::string> failed_;  // keys
  unsigned threads_;
  const std::atomic<bool>* stop_;
  std::function<void(std::size_t, std::size_t)> progress_;
  std::size_t expected_ = 0, done_ = 0, computed_ = 0, taken_over_ = 0;
};

}  // namespace glassbowl::sim
