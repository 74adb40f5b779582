#include "sim/validation/check.hpp"

#include <cmath>

#include "sim/validation/topics.hpp"

namespace glassbowl::validation {

double difference(const Row& row) {
  const double d = row.computed - row.published;
  return row.tolerance.relative ? d / std::abs(row.published) : d;
}

Verdict verdict(const Row& row) {
  const double size = std::abs(difference(row));
  const bool stated = !row.disagreement.cause.empty();
  if (size <= row.tolerance.size) return stated ? Verdict::statement_outdated : Verdict::holds;
  // A NaN compares false everywhere and ends here as a failure.
  return stated && size <= row.disagreement.limit ? Verdict::disagrees_as_stated : Verdict::fails;
}

std::string source_text(const Row& row) {
  std::string text = row.source.work;
  if (!row.source.place.empty()) text += (text.empty() ? "" : ", ") + row.source.place;
  switch (row.source.seen) {
    case Seen::in_source:
      return text;
    case Seen::from_memory:
      return text + " (from memory)";
    case Seen::computed:
      return text + " (formula from memory, value worked out from it)";
    case Seen::computed_seen:
      return text + " (value worked out from the printed formula)";
    case Seen::derived:
      return text + " (derived from a standard law)";
    case Seen::common_practice:
      return text + " (common practice, no published source)";
  }
  return text;
}

Range in_range(double low, double high) {
  return {0.5 * (low + high), absolute(0.5 * (high - low), "published as a range")};
}

std::vector<Row> run_part_checks() {
  std::vector<Row> rows;
  for (const Checks checks : topics) checks(rows);
  return rows;
}

}  // namespace glassbowl::validation
