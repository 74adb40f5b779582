#pragma once
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "sim/bike/resolved_case.hpp"

namespace glassbowl::sim {

using Sets = std::vector<std::string>;  ///< overrides "key=VALUE"

/// Sets of two lists one after the other.
Sets joined(Sets first, const Sets& second);

/// A case with overrides that many points start from: read once, when the first of them is computed.
class SharedCase {
 public:
  SharedCase(std::string text, Sets sets);
  /// Stands for the text in the keys of points, of which there may be thousands.
  const std::string& digest() const { return digest_; }
  const Sets& sets() const { return sets_; }
  /// With a held speed, whatever its load was. Throws Error (input) as reading does.
  const ResolvedCase& resolved() const;

 private:
  std::string text_, digest_;
  Sets sets_;
  mutable std::mutex mutex_;
  mutable std::optional<ResolvedCase> resolved_;
};

}  // namespace glassbowl::sim
