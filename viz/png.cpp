#include "viz/png.hpp"

#include <png.h>

#include "sim/api/error.hpp"

namespace glassbowl::viz {

std::string png_of(const sf::Image& image) {
  png_image head{};
  head.version = PNG_IMAGE_VERSION;
  head.width = image.getSize().x;
  head.height = image.getSize().y;
  head.format = PNG_FORMAT_RGBA;
  png_alloc_size_t bytes = 0;
  const auto write = [&](void* to) {
    return png_image_write_to_memory(&head, to, &bytes, 0, image.getPixelsPtr(), 0, nullptr) != 0;
  };
  std::string out;
  bool whole = write(nullptr);
  out.resize(whole ? bytes : 0);
  whole = whole && write(out.data());
  if (!whole)
    throw sim::Error(sim::ErrorKind::file, std::string("a picture cannot be made: ") + head.message);
  out.resize(bytes);
  return out;
}

}  // namespace glassbowl::viz
