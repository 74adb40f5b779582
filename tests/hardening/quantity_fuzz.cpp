#include <array>
#include <cstdint>
#include <string_view>

#include "sim/cases/quantity.hpp"

// Any bytes as a quantity, asked for in a unit that the first byte chooses: a value, or what is wrong and
// what would do.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static constexpr std::array<std::string_view, 12> units{
      "mm", "rpm", "degC", "K", "%", "1", "deg", "kPa", "cm3/min", "N/mm", "kg m2", "bar s2/m2"};
  if (size == 0) return 0;
  const std::string_view text(reinterpret_cast<const char*>(data) + 1, size - 1);
  const auto reading = glassbowl::sim::read_quantity(text, units[data[0] % units.size()]);
  if (!reading.wrong.empty() && reading.remedy.empty()) __builtin_trap();
  return 0;
}
