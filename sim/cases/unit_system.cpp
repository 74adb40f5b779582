#include "sim/cases/unit_system.hpp"

#include <converter.h>
#include <udunits2.h>

#include <array>
#include <mutex>
#include <unordered_map>
#include <utility>

#include "sim/api/error.hpp"
#include "sim/cases/case_limits.hpp"

namespace glassbowl::sim {
namespace {

struct FreeUnit {
  void operator()(ut_unit* unit) const { ut_free(unit); }
};
using Handle = std::unique_ptr<ut_unit, FreeUnit>;

/// Units of the trade that UDUNITS-2 lacks or would take for something else (mph as milliphot). Columns of
/// water and mercury are the conventional ones: 1000 and 13595.1 kg/m3 at standard gravity.
constexpr std::array<std::pair<const char*, const char*>, 14> trade_units{{
    {"deg", "arc_degree"},
    {"rev", "2 pi rad"},
    {"Nm", "N m"},
    {"Nmm", "N mm"},
    {"inH2O", "inch conventional_water"},
    {"mmH2O", "mm conventional_water"},
    {"cmH2O", "cm conventional_water"},
    {"inHg", "inch conventional_mercury"},
    {"mmHg", "mm conventional_mercury"},
    {"thou", "1e-3 inch"},
    {"mph", "mile/hour"},
    {"kph", "km/hour"},
    {"PS", "75 kgf m/s"},
    {"cP", "1e-3 Pa s"},
}};

/// Whole spellings of a unit as workshops write them, which UDUNITS-2 lacks or takes for something else: C
/// and F would be coulomb and farad, U/min is the German for revolutions per minute.
constexpr std::array<std::pair<std::string_view, std::string_view>, 16> spellings{{
    {"RPM", "rpm"},
    {"Rpm", "rpm"},
    {"U/min", "rpm"},
    {"U/Min", "rpm"},
    {"r/min", "rpm"},
    {"C", "degC"},
    {"F", "degF"},
    {"deg C", "degC"},
    {"deg F", "degF"},
    {"\u00b0 C", "degC"},
    {"\u00b0 F", "degF"},
    {"\u2103", "degC"},
    {"\u2109", "degF"},
    {"\"", "inch"},
    {"\u2033", "inch"},
    {"ccm", "cm3"},
}};

class System {
 public:
  System() {
    ut_set_error_message_handler(ut_ignore);
    system_ = ut_read_xml(nullptr);
    if (system_ == nullptr) {
      throw Error(ErrorKind::file,
                  "the unit database of UDUNITS-2 could not be loaded; install udunits2 data");
    }
    for (const auto& [symbol, definition] : trade_units) {
      const Handle unit(ut_parse(system_, definition, UT_UTF8));
      // UT_EXISTS is no failure: the database then knows the symbol itself.
      if (unit != nullptr) ut_map_symbol_to_unit(symbol, UT_ASCII, unit.get());
    }
  }

  std::shared_ptr<const Unit> find(const std::string& text) {
    const std::lock_guard lock(mutex_);
    if (const auto known = known_.find(text); known != known_.end()) return known->second;
    if (known_.size() > 1000) known_.clear();
    return known_[text] = read(text);
  }

 private:
  std::shared_ptr<const Unit> read(const std::string& text) const;

  ut_system* system_;  // lives as long as the program
  std::mutex mutex_;   // UDUNITS keeps its status in globals
  std::unordered_map<std::string, std::shared_ptr<const Unit>> known_;
};

bool is_letter(char c) {
  // Bytes beyond ASCII belong to the letters and signs that well_formed has let pass.
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || static_cast<unsigned char>(c) >= 0x80;
}

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

/// Narrows UDUNITS' grammar to plain units: its factors, origins, logarithms and dates would let "kPa 3" or
/// "mm @ 3" pass as units. Digits may stand only as one-figure exponents, or as the 1 of "1/min".
bool well_formed(std::string_view text) {
  if (text.empty() || text.size() > limits::unit_bytes) return false;
  std::string_view rest = text;
  if (rest.starts_with("1/")) rest.remove_prefix(2);
  if (rest.empty() || !(is_letter(rest.front()) || rest.front() == '%' || rest.front() == '(')) return false;
  for (std::size_t i = 0; i < rest.size(); ++i) {
    const char c = rest[i];
    const char before = i > 0 ? rest[i - 1] : ' ';
    if (static_cast<unsigned char>(c) >= 0x80) {
      bool known = false;
      for (const std::string_view sign : {"\u00b5", "\u00b0", "\u00b2", "\u00b3", "\u00b7"}) {
        if (rest.substr(i).starts_with(sign)) known = true;
      }
      if (!known) return false;
      ++i;  // all of them have two bytes
    } else if (is_digit(c)) {
      if (!(is_letter(before) || before == '^' || before == '-' || before == '_')) return false;
    } else if (c == '-') {
      if (!(is_letter(before) || before == '^')) return false;
    } else if (!is_letter(c) && std::string_view(" /*.^()%_").find(c) == std::string_view::npos) {
      return false;
    }
  }
  return true;
}

ut_status add_basic(const ut_unit* basic, int power, Dimension& dimension) {
  const char* symbol = ut_get_symbol(basic, UT_ASCII);
  if (symbol == nullptr) symbol = ut_get_name(basic, UT_ASCII);
  if (symbol == nullptr) return UT_VISIT_ERROR;
  dimension[symbol] += power;
  if (dimension[symbol] == 0) dimension.erase(symbol);
  return UT_SUCCESS;
}

ut_status visit_basic(const ut_unit* unit, void* out) {
  return add_basic(unit, 1, static_cast<Unit*>(out)->dimension);
}

ut_status visit_product(const ut_unit*, int count, const ut_unit* const* basics, const int* powers,
                        void* out) {
  for (int i = 0; i < count; ++i) {
    if (const auto status = add_basic(basics[i], powers[i], static_cast<Unit*>(out)->dimension);
        status != UT_SUCCESS) {
      return status;
    }
  }
  return UT_SUCCESS;
}

ut_status visit_galilean(const ut_unit*, double, const ut_unit* underlying, double offset, void* out);
ut_status refuse_timestamp(const ut_unit*, const ut_unit*, double, void*) {
  return UT_VISIT_ERROR;
}
ut_status refuse_logarithm(const ut_unit*, double, const ut_unit*, void*) {
  return UT_VISIT_ERROR;
}

constexpr ut_visitor visitor{visit_basic, visit_product, visit_galilean, refuse_timestamp, refuse_logarithm};

ut_status visit_galilean(const ut_unit*, double, const ut_unit* underlying, double offset, void* out) {
  if (offset != 0.0) static_cast<Unit*>(out)->has_offset = true;
  return ut_accept_visitor(underlying, &visitor, out);
}

std::string base_units(const Dimension& dimension) {
  std::string text;
  for (const auto& [symbol, power] : dimension) {
    if (!text.empty()) text += ' ';
    text += symbol;
    if (power != 1) text += std::to_string(power);
  }
  return text;
}

std::shared_ptr<cv_converter> share(cv_converter* converter) {
  return {converter, [](cv_converter* held) { cv_free(held); }};
}

std::shared_ptr<const Unit> System::read(const std::string& text) const {
  if (!well_formed(text)) return nullptr;
  const Handle handle(ut_parse(system_, text.c_str(), UT_UTF8));
  if (handle == nullptr) return nullptr;
  Unit unit;
  if (ut_accept_visitor(handle.get(), &visitor, &unit) != UT_SUCCESS) return nullptr;
  const std::string base_text = base_units(unit.dimension);
  const Handle base(ut_parse(system_, base_text.empty() ? "1" : base_text.c_str(), UT_ASCII));
  if (base == nullptr) return nullptr;
  unit.to_base = share(ut_get_converter(handle.get(), base.get()));
  unit.from_base = share(ut_get_converter(base.get(), handle.get()));
  if (!unit.to_base || !unit.from_base) return nullptr;
  return std::make_shared<const Unit>(std::move(unit));
}

}  // namespace

double convert(const std::shared_ptr<cv_converter>& converter, double value) {
  return cv_convert_double(converter.get(), value);
}

std::shared_ptr<const Unit> find_unit(std::string_view text) {
  // Never destroyed: units may still be looked up while other statics go.
  static System& system = *new System;
  for (const auto& [spelling, unit] : spellings)
    if (text == spelling) return system.find(std::string(unit));
  if (text == "gal") return nullptr;  // gallons differ, and UDUNITS-2 takes it for an acceleration
  // The Greek letter mu, which keyboards and other programs give for the micro sign.
  std::string spelled;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text.substr(i).starts_with("\u03bc")) {
      spelled += "\u00b5";
      ++i;
    } else {
      spelled += text[i];
    }
  }
  return system.find(spelled);
}

std::string name_of(const Dimension& dimension) {
  static const std::unordered_map<std::string, const char*> names{
      {"", "a pure number"},
      {"m", "a length"},
      {"m2", "an area"},
      {"m3", "a volume"},
      {"kg", "a mass"},
      {"s", "a time"},
      {"K", "a temperature"},
      {"rad", "an angle"},
      {"rad s-1", "an angular speed"},
      {"rad s-2", "an angular acceleration"},
      {"s-1", "a frequency"},
      {"m s-1", "a speed"},
      {"m s-2", "an acceleration"},
      {"kg m s-2", "a force"},
      {"kg m-1 s-2", "a pressure"},
      {"kg m-3", "a density"},
      {"kg s-1", "a mass flow"},
      {"m3 s-1", "a volume flow"},
      {"kg m2 s-2", "an energy or torque"},
      {"kg m2 s-3", "a power"},
      {"kg s-2", "a spring rate or surface tension"},
      {"kg m2", "a moment of inertia"},
      {"kg m-1 s-1", "a dynamic viscosity"},
      {"m2 s-1", "a kinematic viscosity"},
      {"m2 s-2", "an energy per mass"},
      {"K-1 m2 s-2", "a specific heat"},
      {"K-1 kg s-3", "a heat transfer coefficient"},
      {"K-1 kg m s-3", "a thermal conductivity"},
      {"K-1 kg m2 s-3", "a heat flow per temperature"},
      {"K m-1", "a temperature gradient"},
      {"kg m s-1", "a momentum"},
      {"kg mol-1", "a molar mass"},
      {"K-1", "a thermal expansion"},
  };
  const std::string base = base_units(dimension);
  if (const auto name = names.find(base); name != names.end()) return name->second;
  return "a quantity in " + base;
}

}  // namespace glassbowl::sim
