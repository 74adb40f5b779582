#include "viz/page/text.hpp"

namespace glassbowl::viz {

std::string escaped(const std::string& text) {
  std::string out;
  for (const char c : text) out += c == '<' ? "&lt;" : c == '&' ? "&amp;" : std::string(1, c);
  return out;
}

std::string base64(std::string_view bytes) {
  static constexpr char letters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string out;
  out.reserve(bytes.size() * 4 / 3 + 4);
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    const std::size_t left = bytes.size() - i;
    unsigned value = 0;
    for (std::size_t k = 0; k < 3; ++k)
      value = (value << 8U) | (k < left ? static_cast<unsigned char>(bytes[i + k]) : 0U);
    for (unsigned k = 0; k < 4; ++k) out += k <= left ? letters[(value >> (18U - 6U * k)) & 63U] : '=';
  }
  return out;
}

}  // namespace glassbowl::viz
