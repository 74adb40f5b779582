#pragma once
#include <SFML/Graphics/Image.hpp>

#include <string>

namespace glassbowl::viz {

/// The picture as PNG. Errors: sim::Error{file} when there is not memory enough.
std::string png_of(const sf::Image& image);

}  // namespace glassbowl::viz
