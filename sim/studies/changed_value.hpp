#pragma once
#include <functional>
#include <optional>
#include <string>

#include "sim/cases/keys.hpp"

namespace glassbowl::sim {

/// The override "key=VALUE" that changes a quantity, each entry of a list, or the second column of a table
/// by `moved` [SI to SI]; nothing where it is no number, or does not change.
std::optional<std::string> changed_setting(const Origin& origin, const Declaration& key,
                                           const std::function<double(double)>& moved);

/// The same by a share of half of its 95 % range.
std::optional<std::string> changed_by(const Origin& origin, const Declaration& key, const Spread& spread,
                                      double share);

}  // namespace glassbowl::sim
