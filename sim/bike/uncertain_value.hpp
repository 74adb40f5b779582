#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "sim/bike/resolved_case.hpp"

namespace glassbowl::sim {

/// A value of a case that is not exact, ready to be drawn. Its deviation is counted in standard deviations,
/// half of a 95 % range being 1.96 of them. It is normal; where a normal one would come within the 4 standard
/// deviations of a bound of its key, it is log-normal instead, counted from that bound, and between two
/// such bounds logit-normal. What stands on a bound deviates to the other side only.
/// The entries of a list move together, each by its own limits.
class UncertainValue {
 public:
  /// `value` as it stands in the case, TOML. Sound values only.
  UncertainValue(std::string path, std::string meaning, std::string value, Spread spread,
                 Declaration declaration);

  const std::string& path() const { return path_; }
  const std::string& meaning() const { return meaning_; }
  const std::string& value() const { return value_; }
  const Spread& spread() const { return spread_; }
  bool moves() const { return moves_; }  ///< whether there is any width to it

  /// The override "path=VALUE" of a bike that deviates by so many standard deviations.
  std::string drawn(double deviation) const;
  /// One number of it [SI] at a deviation.
  double moved(double si, const Spread& spread, double deviation) const;

 private:
  std::string path_, meaning_, value_;
  Spread spread_;
  Declaration declaration_;
  bool moves_ = false;
};

/// All that counts in a steady cycle of this machine, in the order of declaration: its own sizes and the
/// fuel's; no load, ride, weather or fault that nobody gave limits for. Of two keys that say the same thing
/// (bore and flow rating, level and float height) the one that decides.
std::vector<UncertainValue> uncertain_values(const ResolvedCase& resolved);

/// How well the value of a key is known; of zero width where it is taken as exact. Throws
/// std::invalid_argument where there is no such key.
Spread spread_of(const ResolvedCase& resolved, std::string_view key);

/// "± 1.5 % (a drilled jet)", or "exact".
std::string spread_text(const ResolvedCase& resolved, std::string_view key);

/// Every value that is not exact, a line each: "carburetor.main.jet.bore = "1.5 mm" ± 0.0225 mm (a drilled
/// jet)".
std::string spreads_text(const ResolvedCase& resolved);

}  // namespace glassbowl::sim
