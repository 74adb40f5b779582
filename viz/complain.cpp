#include "viz/complain.hpp"

#include <cstdio>

#include "sim/api/terminal_text.hpp"

namespace glassbowl::viz {

void complain(const std::string& words) {
  std::fputs(sim::terminal_text("glassbowl-view: " + words + "\n").c_str(), stderr);
}

}  // namespace glassbowl::viz
