#pragma once
#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

namespace glassbowl::viz {

/// Text as it may stand in a page.
std::string escaped(const std::string& text);
std::string base64(const std::vector<std::uint8_t>& bytes);
/// Writes `file`; an error speaks of `target`, the name it will have, and leaves nothing behind.
void write_text(const std::filesystem::path& file, const std::string& text,
                const std::filesystem::path& target);

}  // namespace glassbowl::viz
