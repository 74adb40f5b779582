#pragma once

#include <cstddef>
#include <initializer_list>
#include <limits>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "sim/cases/key_units.hpp"
#include "sim/cases/layers.hpp"

namespace glassbowl::sim {

/// Allowed values, ends included, in the unit with which a key is declared.
struct Range {
  double lowest = -std::numeric_limits<double>::infinity();
  double highest = std::numeric_limits<double>::infinity();
};

/// A key as it was declared: what a case may give for it.
struct Declaration {
  enum class Kind { quantity, quantities, points, integer, flag, text, choice };
  std::string path{};
  Kind kind = Kind::quantity;
  std::string unit{}, unit_x{};      ///< of values; of the points' first column
  Range range{}, range_x{};          ///< in those units
  std::size_t max_count = 1;         ///< of a list
  std::vector<std::string> names{};  ///< of a choice
  bool fault = false;                ///< its meaning begins with "fault: "; its default is the sound part
};

/// Where the value of a key came from.
struct Origin {
  enum class Kind {
    own,       ///< the case's own file, or an override
    borrowed,  ///< a file that it builds on
    fallback,  ///< the default
  };
  std::string path, meaning;
  std::string value;   ///< as TOML
  std::string source;  ///< file within the case's folder or the shipped one, "--set" or "default"
  Kind kind = Kind::fallback;
};

/// Declares the keys of a case, once each: reads and checks them, refuses all others, and can print the
/// resolved case or an annotated list of keys.
///
/// Each declaration takes the dotted path ("carburetor.main.jet.bore"), the target, what is allowed, the
/// default as it would be written in a case (std::nullopt: the key is required), and its meaning in one line.
/// Problems are gathered, not thrown; a target whose value is bad or missing gets NaN, or its default, or is
/// left empty, so that comparisons with it raise no further complaint. finish() throws if there was any
/// problem, so nothing half-read is used. A declaration that contradicts itself (bad default, path twice)
/// throws std::logic_error.
class Keys {
 public:
  using Fallback = std::optional<std::string_view>;
  using Point = std::pair<double, double>;

  explicit Keys(Layers layers);
  ~Keys();
  Keys(const Keys&) = delete;
  Keys& operator=(const Keys&) = delete;

  /// A number with a unit; stored in SI base units. See units.hpp for units with a meaning of their own.
  void quantity(std::string_view path, double& target, std::string_view unit, Range range, Fallback fallback,
                std::string_view text);

  /// An array of up to `max_count` of them; a single one may stand without brackets. Default "[]" for none.
  void quantities(std::string_view path, std::vector<double>& target, std::string_view unit, Range range,
                  std::size_t max_count, Fallback fallback, std::string_view text);

  /// A table of points [["0 s", "0 %"], ["1 s", "80 %"]] with strictly increasing x. A single quantity means
  /// a constant and gives one point at x = 0 (SI).
  void points(std::string_view path, std::vector<Point>& target, std::string_view unit_x,
              std::string_view unit_y, Range range_x, Range range_y, Fallback fallback,
              std::string_view text);

  /// A whole number from `lowest` to `highest`.
  void integer(std::string_view path, int& target, int lowest, int highest, Fallback fallback,
               std::string_view text);

  /// true or false.
  void flag(std::string_view path, bool& target, Fallback fallback, std::string_view text);

  /// The same, taken from the case itself and from overrides only: what its bases say of themselves does not
  /// hold for a case that builds on them.
  void own_flag(std::string_view path, bool& target, Fallback fallback, std::string_view text);

  /// One of several names.
  template <class E>
  void choice(std::string_view path, E& target, std::initializer_list<std::pair<std::string_view, E>> choices,
              Fallback fallback, std::string_view text) {
    std::vector<std::string_view> names;
    for (const auto& [name, value] : choices) names.push_back(name);
    if (const auto index = choose(path, names, fallback, text)) target = (choices.begin() + *index)->second;
  }

  /// Free text.
  void text(std::string_view path, std::string& target, Fallback fallback, std::string_view text);

  /// Whether any layer gives this key, or anything in this section.
  bool given(std::string_view path) const;

  /// Of two declared keys that say the same thing: whether the second counts, because it was given nearer to
  /// the case (by an override, by its own file, by a later base). Nothing where both were given in one place,
  /// or neither.
  std::optional<bool> second_is_nearer(std::string_view first, std::string_view second) const;

  /// The resolved case is to say `value` (TOML) for `path`, since `by` decides what it is.
  void replace(std::string_view path, std::string value, std::string_view by);

  /// Whether the value of a declared key is its default, given or noted as such in a resolved case.
  bool is_default(std::string_view path) const;

  /// Whether no problem was found so far.
  bool sound() const;

  /// Reports a conflict found by the caller, at the place where `path` was given. `message` is a clause ("the
  /// jet is wider than its well of 3 mm"), `remedy` says what would do.
  void problem(std::string_view path, std::string_view message, std::string_view remedy);

  /// Notes a legal but doubtful value; see warnings().
  void warning(std::string_view path, std::string_view message);

  /// Throws one Error{case_file} with all problems if there is any; call it once all keys are declared.
  void finish();

  const std::vector<std::string>& warnings() const;

  /// All keys declared so far, in their order.
  const std::vector<Declaration>& declarations() const;

  /// Where the value of each key came from, in the order of declaration; sound cases only.
  std::vector<Origin> origins() const;

  /// The whole case as TOML: every declared key with its value as given or its default, meaning and source in
  /// a comment. Read again it gives the same numbers bit for bit.
  std::string resolved() const;

  /// All declared keys as TOML with meaning, range and default; required ones are shown with an example.
  std::string listing() const;

 private:
  struct State;

  void declare_flag(Declaration declaration, bool& target, Fallback fallback, std::string_view text,
                    bool own_only);
  std::optional<std::ptrdiff_t> choose(std::string_view path, const std::vector<std::string_view>& names,
                                       Fallback fallback, std::string_view text);

  std::unique_ptr<State> state_;
};

}  // namespace glassbowl::sim
