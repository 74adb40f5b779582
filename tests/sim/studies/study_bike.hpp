#pragma once
#include <string>

#include "sim/studies/adjuster.hpp"

namespace glassbowl::sim {

/// A shipped bike as the study commands take it: held at 3,000 1/min, with the sizes one can buy.
inline ResolvedCase bike(const std::string& name, const Sets& sets = {}) {
  return with_stock(read_case_text("base = \"bikes/" + name +
                                       ".toml\"\n[load]\nkind = \"held_speed\"\nspeed = "
                                       "\"3000 1/min\"\n[run]\nduration = \"1 s\"\n",
                                   name, sets));
}

}  // namespace glassbowl::sim
