#pragma once
#include <SFML/Graphics/Font.hpp>
#include <filesystem>
#include <optional>
#include <string>

namespace glassbowl::viz {

/// The one typeface of the program: Inter, or a fallback.
struct Typeface {
  sf::Font font;
  std::filesystem::path file;
  std::string notice;  ///< empty, or that a fallback is used
};

/// Loads `wanted`, or Inter, or a fallback.
/// Errors   sim::Error{file} naming every place looked at and the package to install.
void load_typeface(Typeface& typeface, const std::optional<std::filesystem::path>& wanted);

}  // namespace glassbowl::viz
