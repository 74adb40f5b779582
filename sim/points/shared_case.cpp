#include "sim/points/shared_case.hpp"

#include <utility>

#include "sim/points/point_journal.hpp"

namespace glassbowl::sim {

Sets joined(Sets first, const Sets& second) {
  first.insert(first.end(), second.begin(), second.end());
  return first;
}

SharedCase::SharedCase(std::string text, Sets sets)
    : text_(std::move(text)), digest_(digest_of(text_)), sets_(std::move(sets)) {}

const ResolvedCase& SharedCase::resolved() const {
  // A lock, as what is thrown must not pass the C library's own "once".
  const std::lock_guard lock(mutex_);
  if (!resolved_) resolved_ = read_case_text(text_, "point", joined(sets_, {"load.kind=held_speed"}));
  return *resolved_;
}

}  // namespace glassbowl::sim
