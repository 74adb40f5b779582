#pragma once

#include <map>
#include <memory>
#include <string>
#include <string_view>

union cv_converter;

namespace glassbowl::sim {

/// Powers of the base units by symbol: m, kg, s, K, rad and so on. Unlike UDUNITS, the radian counts, so that
/// an angle is not taken for a ratio.
using Dimension = std::map<std::string, int>;

/// A unit and its conversion to and from SI base units.
struct Unit {
  Dimension dimension;
  bool has_offset = false;  ///< zero is not nothing, as for degC
  std::shared_ptr<cv_converter> to_base;
  std::shared_ptr<cv_converter> from_base;
};

double convert(const std::shared_ptr<cv_converter>& converter, double value);

/// Looks a unit up in UDUNITS-2, extended by the units of the trade; null if it is none. Safe from any
/// thread. Error{file} if the unit database cannot be loaded.
std::shared_ptr<const Unit> find_unit(std::string_view text);

/// The dimension in words with an article, or in base units where there is no word for it.
std::string name_of(const Dimension& dimension);

}  // namespace glassbowl::sim
