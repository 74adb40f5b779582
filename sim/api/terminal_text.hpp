#pragma once

#include <string>
#include <string_view>

namespace glassbowl::sim {

/// Text made fit for a terminal: what would steer it (control characters other than line feed and tab, C1
/// controls, marks that reorder or hide text) and broken UTF-8 become spaces. All that a program of this
/// project prints passes through here, since titles, names and file names come from strangers.
std::string terminal_text(std::string_view text);

}  // namespace glassbowl::sim
