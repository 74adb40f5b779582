#pragma once
#include <string>

namespace glassbowl::sim {

/// Text as HTML shows it.
std::string html_text(const std::string& text);

}  // namespace glassbowl::sim
