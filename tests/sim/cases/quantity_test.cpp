#include "sim/cases/quantity.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <numbers>
#include <stdexcept>

#include "sim/cases/key_units.hpp"
#include "tests/sim/cases/message_of.hpp"

using namespace glassbowl::sim;
using Catch::Matchers::Contains;
using Catch::Matchers::WithinRel;

namespace {
constexpr double round_off = 1e-14;  // a few roundings in the conversion
constexpr double pi = std::numbers::pi;

struct Conversion {
  const char* text;
  const char* unit;
  double si;
};
}  // namespace

TEST_CASE("quantity: units of the trade convert to SI", "[sim][cases][published]") {
  // Sources: NIST SP 811 (2008) appendix B.8 for inch, foot, mile, pound, psi, conventional mercury and water
  // (here computed from 13595.1 and 1000 kg/m3, 9.80665 m/s2 and 25.4 mm); SI brochure 9th edition for the
  // rest.
  const double g = 9.80665, inch = 0.0254, pound = 0.45359237;
  const auto row = GENERATE_COPY(values<Conversion>({
      {"1.25 mm", "mm", 1.25e-3},
      {"1.25mm", "mm", 1.25e-3},
      {"  1.25   mm ", "mm", 1.25e-3},
      {"4000 ft", "m", 4000 * 12 * inch},
      {"3 in", "mm", 3 * inch},
      {"40 thou", "mm", 40e-3 * inch},
      {"5 \u00b5m", "mm", 5e-6},
      {"5 \u03bcm", "mm", 5e-6},
      {"3.2 mm\u00b2", "mm2", 3.2e-6},
      {"12 inHg", "kPa", 12 * inch * 13595.1 * g},
      {"12 in_Hg", "kPa", 12 * inch * 13595.1 * g},
      {"760 mmHg", "kPa", 0.76 * 13595.1 * g},
      {"10 inH2O", "kPa", 10 * inch * 1000 * g},
      {"100 mmH2O", "kPa", 0.1 * 1000 * g},
      {"10 cmH2O", "kPa", 0.1 * 1000 * g},
      {"14.5 psi", "kPa", 14.5 * pound * g / (inch * inch)},
      {"1.01325 bar", "kPa", 101325},
      {"1013.25 hPa", "kPa", 101325},
      {"1013.25 mbar", "kPa", 101325},
      {"1 atm", "kPa", 101325},
      {"1200 1/min", "rpm", 1200 * 2 * pi / 60},
      {"1200 min-1", "rpm", 1200 * 2 * pi / 60},
      {"1200 rpm", "rpm", 1200 * 2 * pi / 60},
      {"1200 rev/min", "rpm", 1200 * 2 * pi / 60},
      {"20 Hz", "rpm", 20 * 2 * pi},
      {"100 rad/s", "rpm", 100},
      {"360 deg/s", "rpm", 2 * pi},
      {"500 1/min/s", "rpm/s", 500 * 2 * pi / 60},
      {"60 1/min", "Hz", 1},
      {"25 %", "%", 0.25},
      {"25 %", "1", 0.25},
      {"25 percent", "%", 0.25},
      {"0.25", "1", 0.25},
      {"30 deg", "deg", pi / 6},
      {"30 \u00b0", "deg", pi / 6},
      {"0.5 rad", "deg", 0.5},
      {"2 rev", "deg", 4 * pi},
      {"2 turn", "deg", 4 * pi},
      {"95 degC", "degC", 368.15},
      {"95 \u00b0C", "degC", 368.15},
      {"-40 degF", "degC", 233.15},
      {"300 K", "degC", 300},
      {"10 K", "K", 10},
      {"18 degR", "K", 10},
      {"50 cm3/min", "cm3/min", 50e-6 / 60},
      {"50 cc/min", "cm3/min", 50e-6 / 60},
      {"124 cc", "cm3", 124e-6},
      {"124 cm3", "cm3", 124e-6},
      {"124 cm^3", "cm3", 124e-6},
      {"124 ml", "cm3", 124e-6},
      {"124 mL", "cm3", 124e-6},
      {"12 l", "cm3", 12e-3},
      {"40 Nm", "N m", 40},
      {"40 N m", "N m", 40},
      {"40 N.m", "N m", 40},
      {"40 N\u00b7m", "N m", 40},
      {"40 Nmm", "N m", 0.040},
      {"0.2 N/mm", "N/m", 200},
      {"30 lbf", "N", 30 * pound * g},
      {"60 mph", "km/h", 60 * 5280 * 12 * inch / 3600},
      {"90 km/h", "m/s", 25},
      {"90 kph", "m/s", 25},
      {"20 PS", "kW", 20 * 75 * g},
      {"0.6 cP", "mPa s", 0.6e-3},
      {"22 mN/m", "N/m", 22e-3},
      {"43 MJ/kg", "MJ/kg", 43e6},
      {"900 J/(kg K)", "J/kg/K", 900},
      {"900 J kg-1 K-1", "J/(kg K)", 900},
      {"3.5 g/min", "kg/h", 3.5e-3 / 60},
      {"+1e3 m", "m", 1000},
      {".5 m", "m", 0.5},
      {"1.5E-3 m", "mm", 1.5e-3},
      {"1200 RPM", "rpm", 1200 * 2 * pi / 60},
      {"1200 U/min", "rpm", 1200 * 2 * pi / 60},
      {"1200 r/min", "rpm", 1200 * 2 * pi / 60},
      {"1 1/min", "rpm", 2 * pi / 60},
      {"8.5:1", "1", 8.5},
      {"8.5 : 1", "1", 8.5},
      {"45:16", "1", 2.8125},
      {"2 1/2", "1", 2.5},
      {"1/8 in", "mm", inch / 8},
      {"1 3/32 in", "mm", inch * 35 / 32},
      {"-1 1/2 in", "mm", -1.5 * inch},
      {"1/8\"", "mm", inch / 8},
      {"95 C", "degC", 368.15},
      {"203 F", "degC", 368.15},
      {"95 deg C", "degC", 368.15},
      {"95 \u00b0 C", "degC", 368.15},
      {"203 \u00b0F", "degC", 368.15},
      {"124 ccm", "cm3", 124e-6},
  }));
  INFO(row.text << " for " << row.unit);
  const QuantityReading reading = read_quantity(row.text, row.unit);
  CHECK(reading.wrong == "");
  // All definitions are exact, so only the roundings along the database's chains of units remain.
  CHECK_THAT(reading.si, WithinRel(row.si, 1e-12));
}

TEST_CASE("quantity: what is given and what is needed are named with an example", "[sim][cases][anomaly]") {
  CHECK(message_of([] { to_si("1.25 l", "mm"); }) ==
        "\"1.25 l\" is a volume; a length is needed, such as \"1 mm\"");
  CHECK(read_quantity("1.25 l", "mm", "1.25 mm").remedy == "a length is needed, such as \"1.25 mm\"");
  CHECK(read_quantity("1,25 mm", "mm").remedy == "a length is needed, such as \"1.25 mm\"");
  CHECK(error_of([] { to_si("1.25 l", "mm"); })->kind() == ErrorKind::input);
  struct Row {
    const char *text, *unit, *wrong, *remedy;
  };
  const auto row = GENERATE(values<Row>({
      {"3 bar", "K", "is a pressure", "a temperature difference is needed"},
      {"3 s", "degC", "is a time", "an absolute temperature is needed"},
      {"3 mm2", "mm", "is an area", "a length is needed"},
      {"3 kg/s", "cm3/min", "is a mass flow", "a volume flow is needed"},
      {"3 m/s", "rpm", "is a speed", "an angular speed is needed"},
      {"30 deg", "rpm", "is an angle", "an angular speed is needed"},
      {"30 %", "deg", "is a pure number", "an angle is needed"},
      {"30 deg", "%", "is an angle", "a fraction or percentage with its unit is needed"},
      {"0.5 rad", "1", "is an angle", "a pure number is needed"},
      {"1200 rpm", "Hz", "is an angular speed", "a frequency is needed"},
      {"3 V", "mm", "is a quantity in", "a length is needed"},
      {"20 degC", "K", "is a temperature on a scale", "a temperature difference is needed"},
      {"-300 degC", "degC", "is below absolute zero", "an absolute temperature"},
      {"1.25", "mm", "has no unit", "a length is needed, such as \"1 mm\""},
      {"25", "%", "has no unit", "a fraction or percentage"},
      {"1.25 millimets", "mm", "has a unit that is not known, \"millimets\"", "a length"},
      {"1,25 mm", "mm", "has a comma where a decimal point belongs", "a length"},
      {"", "mm", "does not begin with a number", "a length"},
      {"mm", "mm", "does not begin with a number", "a length"},
      {"- 1 mm", "mm", "does not begin with a number", "a length"},
      {"nan mm", "mm", "is not a finite number", "a length"},
      {"-inf mm", "mm", "is not a finite number", "a length"},
      {"Infinity mm", "mm", "is not a finite number", "a length"},
      {"1e999 mm", "mm", "too large or too small", "a length"},
      {"1e-999 mm", "mm", "too large or too small", "a length"},
      {"1e308 Mm", "mm", "is too large", "a length"},
      {"0x10 mm", "mm", "has a unit that is not known", "a length"},
      {"1 2 mm", "mm", "has a unit that is not known", "a length"},
      {"1 mm 3", "mm", "has a unit that is not known", "a length"},
      {"1 mm @ 3", "mm", "has a unit that is not known", "a length"},
      {"1 s since 2000-01-01", "s", "has a unit that is not known", "a time"},
      {"1 lg(re 1 mm)", "mm", "has a unit that is not known", "a length"},
      {"1 m99", "mm", "has a unit that is not known", "a length"},
      {"1/0 in", "mm", "has a fraction over zero", "a length"},
      {"8.5:0", "1", "has a fraction over zero", "a pure number"},
      {"8.5:1", "mm", "has a unit that is not known", "a length"},
      {"8:1:1", "1", "has a unit that is not known", "a pure number"},
      {"1/2.5 in", "mm", "has a unit that is not known", "a length"},
      {"1 1/8", "mm", "has no unit", "a length"},
      {"20 C", "K", "is a temperature on a scale", "a temperature difference is needed"},
      {"20 F", "mm", "is a temperature", "a length is needed"},
      {"3 U", "rpm", "has a unit that is not known", "an angular speed"},
      {"1 ((((m", "mm", "has a unit that is not known", "a length"},
  }));
  INFO(row.text << " for " << row.unit);
  const QuantityReading reading = read_quantity(row.text, row.unit);
  CHECK_THAT(reading.wrong, Contains(row.wrong));
  CHECK_THAT(reading.remedy, Contains(row.remedy));
  CHECK(std::isnan(reading.si));
}

TEST_CASE("quantity: absurd lengths are refused", "[sim][cases][anomaly]") {
  CHECK_THAT(read_quantity("0." + std::string(50, '1') + " mm", "mm").wrong,
             Contains("more than 40 characters"));
  CHECK_THAT(read_quantity(std::string(100000, '1') + " mm", "mm").wrong,
             Contains("longer than 80 characters"));
  CHECK_THAT(read_quantity("1 " + std::string(60, 'm'), "mm").wrong, Contains("not known"));
}

TEST_CASE("quantity: a quoted text is clipped and cannot steer the terminal", "[sim][cases][anomaly]") {
  const std::string message = message_of([] { to_si("1 \x1b[31m" + std::string(300, 'x'), "mm"); });
  CHECK(message.find('\x1b') == std::string::npos);
  CHECK(message.size() < 250);
  CHECK_THAT(message, Contains("..."));
}

TEST_CASE("quantity: display values go back and forth", "[sim][cases][symmetry]") {
  for (const char* unit : {"mm", "rpm", "%", "deg", "degC", "degF", "kPa", "inHg", "cm3/min", "1"}) {
    INFO(unit);
    CHECK_THAT(from_si(to_si(12.5, unit), unit), WithinRel(12.5, round_off));
  }
  CHECK(format(1.25e-3, "mm") == "1.25 mm");
  CHECK(format(368.15, "degC") == "95 degC");
  CHECK(format(0.8, "%") == "80 %");
  CHECK(format(0.8, "1") == "0.8");
  CHECK(format(to_si(3000.0, "rpm"), "rpm") == "3000 rpm");
  CHECK(format(-0.0, "mm") == "0 mm");
  CHECK(std::isnan(to_si(std::numeric_limits<double>::quiet_NaN(), "mm")));
}

TEST_CASE("quantity: a key cannot be declared with what is no unit", "[sim][cases][anomaly]") {
  CHECK_THROWS_AS(read_quantity("1 mm", "milimeter"), std::logic_error);
  CHECK_THROWS_AS(to_si(1.0, "5"), std::logic_error);
}

TEST_CASE("quantity: dimensions have names", "[sim][cases]") {
  CHECK(dimension_name("mm") == "a length");
  CHECK(dimension_name(units::revolutions_per_minute) == "an angular speed");
  CHECK(dimension_name(units::frequency) == "a frequency");
  CHECK(dimension_name(units::angle) == "an angle");
  CHECK(dimension_name(units::temperature) == "an absolute temperature");
  CHECK(dimension_name(units::temperature_difference) == "a temperature difference");
  CHECK(dimension_name(units::percent) == "a fraction");
  CHECK(dimension_name(units::one) == "a pure number");
  CHECK(dimension_name("kg m2") == "a moment of inertia");
  CHECK(dimension_name("N/m") == "a spring rate or surface tension");
  CHECK(dimension_name("J/kg/K") == "a specific heat");
  CHECK(dimension_name("W/m2/K") == "a heat transfer coefficient");
  CHECK(dimension_name("W/m/K") == "a thermal conductivity");
  CHECK(dimension_name("kg m/s") == "a momentum");
  CHECK(dimension_name("W/K") == "a heat flow per temperature");
  CHECK(dimension_name("A") == "a quantity in A");
}
