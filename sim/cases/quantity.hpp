#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "sim/cases/spread.hpp"

namespace glassbowl::sim {

/// What came of reading a quantity: the value, or a predicate saying what is wrong and what would do.
struct QuantityReading {
  double si = 0.0;     ///< value in SI base units (rad for angles); meaningless when `wrong` is not empty
  std::string wrong;   ///< such as "is a volume"; empty when all is well
  std::string remedy;  ///< such as "a length is needed, such as \"1.25 mm\""
};

/// Reads a number with its unit, such as "1.25 mm", by UDUNITS-2. Fractions of a rule count as numbers
/// ("1/8 in", "1 3/32 in"), and ratios where a pure number is wanted ("8.5:1"). C and F are temperatures.
/// `unit` is the unit in which the value was asked for (see units.hpp); any unit of its dimension is
/// accepted. `example` is a sound value quoted in the remedy; one in `unit` is made up if it is empty.
/// Errors: none thrown for bad text; Error{file} if the unit database cannot be loaded; std::logic_error if
/// `unit` itself is no unit.
QuantityReading read_quantity(std::string_view text, std::string_view unit, std::string_view example = {});

/// A quantity that may carry its limits.
struct LimitedReading {
  QuantityReading value;         ///< with the complaint, whether about the value or its limits
  std::optional<Spread> limits;  ///< where given: half of the 95 % range, in SI or relative
};

/// The same for "45 cm3 ± 10 cm3", "45 ± 10 cm3" or "45 cm3 ± 10 %"; "+-" and "+/-" stand for "±". Limits in
/// % are a share of the value, but for a key in % they are its own unit. Those of a temperature are a
/// difference.
LimitedReading read_limited_quantity(std::string_view text, std::string_view unit,
                                     std::string_view example = {});

/// The same, throwing Error{input} with the text, what is wrong and what would do.
double to_si(std::string_view text, std::string_view unit);

/// A value counted in `unit` in SI base units, and back. NaN and infinities pass through.
double to_si(double value, std::string_view unit);
double from_si(double si, std::string_view unit);

/// A value in SI base units as text for people: six significant digits and `unit`, such as "1.25 mm".
std::string format(double si, std::string_view unit);

/// The quantity that `unit` measures, in words with an article: "a length", "an angular speed".
std::string dimension_name(std::string_view unit);

/// Whether a bare number may be given for a key declared in `unit` (only for pure numbers, unit "1").
bool takes_bare_numbers(std::string_view unit);

}  // namespace glassbowl::sim
