#include "viz/panels/undo.hpp"

#include <utility>

namespace glassbowl::viz {

void Undo::add(Step step, bool joins) {
  if (joins && done_ > 0 && done_ == steps_.size() && steps_.back().what == step.what) {
    steps_.back().after = std::move(step.after);
    return;
  }
  steps_.resize(done_);
  steps_.push_back(std::move(step));
  done_ = steps_.size();
}

const Undo::Step* Undo::back() {
  return done_ > 0 ? &steps_[--done_] : nullptr;
}

const Undo::Step* Undo::again() {
  return done_ < steps_.size() ? &steps_[done_++] : nullptr;
}

}  // namespace glassbowl::viz
