#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include "sim/cases/keys.hpp"
#include "sim/cases/layer.hpp"

namespace glassbowl::sim {

/// What is wrong with a value, and with which part of it.
struct Complaint {
  const toml::node* place = nullptr;
  std::string wrong;   ///< a clause: "this is a volume"
  std::string remedy;  ///< "a length is needed, such as \"1.25 mm\""
};

template <class T>
using Reading = std::variant<T, Complaint>;

/// A number as it is asked for.
struct Wanted {
  std::string_view unit;
  Range range;
  std::string example;  ///< a sound value, to be quoted to the user
};

/// A sound value made up from the range, in the spelling of a case but without quotes.
std::string example_in(std::string_view unit, Range range);

/// "0.2 mm to 5 mm", "0 s or more", or empty if everything is allowed.
std::string range_text(std::string_view unit, Range range);

/// Reads one quantity; `subject` begins the clause of a complaint ("this", "entry 2, \"1 l\",").
Reading<double> read_number(const toml::node& node, const Wanted& wanted,
                            const std::string& subject = "this");

Reading<std::vector<double>> read_numbers(const toml::node& node, const Wanted& wanted,
                                          std::size_t max_count);

Reading<std::vector<Keys::Point>> read_points(const toml::node& node, const Wanted& x, const Wanted& y);

/// The limits that a quantity carries, of a list or table of points those of its first value that has any.
/// `node` is sound.
std::optional<Spread> first_limits(const toml::node& node, std::string_view unit);

Reading<int> read_integer(const toml::node& node, int lowest, int highest);

Reading<bool> read_flag(const toml::node& node);

Reading<std::string> read_plain_text(const toml::node& node);

/// Index of the chosen name.
Reading<std::ptrdiff_t> read_choice(const toml::node& node, const std::vector<std::string_view>& names);

}  // namespace glassbowl::sim
