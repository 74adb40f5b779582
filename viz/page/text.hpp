#pragma once
#include <string>
#include <string_view>

namespace glassbowl::viz {

/// Text as it may stand in a page.
std::string escaped(const std::string& text);
std::string base64(std::string_view bytes);

}  // namespace glassbowl::viz
