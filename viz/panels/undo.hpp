#pragma once
#include <cstddef>
#include <string>
#include <vector>

#include "sim/api/live_bench.hpp"

namespace glassbowl::viz {

/// What hands have set on one live bike.
struct BikeSetting {
  sim::LiveChanges changes;
  sim::LiveControls controls;
};

/// Changes made by hand, in order, each of which can be undone and redone.
class Undo {
 public:
  struct Step {
    std::string what;                        ///< in words: "main jet 1.67 -> 1.72 mm"
    std::vector<BikeSetting> before, after;  ///< of every live bike
  };

  /// Adds a step; one that `joins` the last, such as the next pixel of a dragged slider, extends it.
  void add(Step step, bool joins);
  /// The step to take back, or to make again; null if there is none.
  const Step* back();
  const Step* again();
  const Step* next_back() const { return done_ > 0 ? &steps_[done_ - 1] : nullptr; }
  const Step* next_again() const { return done_ < steps_.size() ? &steps_[done_] : nullptr; }

 private:
  std::vector<Step> steps_;
  std::size_t done_ = 0;  // of the steps, that are in force
};

}  // namespace glassbowl::viz
