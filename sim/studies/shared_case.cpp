#include "sim/studies/shared_case.hpp"

#include <utility>

#include "sim/studies/point_journal.hpp"

namespace glassbowl::sim {

Sets joined(Sets first, const Sets& second) {
  first.insert(first.end(), second.begin(), second.end());
  return first;
}

SharedCase::SharedCase(std::string text, Sets sets)
    : text_(std::move(text)), digest_(digest_of(text_)), sets_(std::move(sets)) {}

const ResolvedCase& SharedCase::resolved() const {
  std::call_once(
      read_, [this] { resolved_ = read_case_text(text_, "point", joined(sets_, {"load.kind=held_speed"})); });
  return *resolved_;
}

}  // namespace glassbowl::sim
