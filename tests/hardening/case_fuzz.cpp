#include <cstdint>
#include <string>

#include "sim/api/error.hpp"
#include "sim/bike/resolved_case.hpp"

// Any bytes as a case: it is read, or refused in one error.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  try {
    glassbowl::sim::read_case_text(std::string(reinterpret_cast<const char*>(data), size), "fuzzed");
  } catch (const glassbowl::sim::Error&) {
  }
  return 0;
}
