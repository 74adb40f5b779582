#include "sim/run/version.hpp"

namespace glassbowl::sim {

std::string_view program_version() {
  return GLASSBOWL_VERSION;
}

}  // namespace glassbowl::sim
