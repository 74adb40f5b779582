#include "viz/page/text.hpp"

#include <fstream>

#include "sim/api/error.hpp"

namespace glassbowl::viz {

std::string escaped(const std::string& text) {
  std::string out;
  for (const char c : text) out += c == '<' ? "&lt;" : c == '&' ? "&amp;" : std::string(1, c);
  return out;
}

std::string base64(const std::vector<std::uint8_t>& bytes) {
  static constexpr char letters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string out;
  out.reserve(bytes.size() * 4 / 3 + 4);
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    const std::size_t left = bytes.size() - i;
    const unsigned value = (static_cast<unsigned>(bytes[i]) << 16U) |
                           (left > 1 ? static_cast<unsigned>(bytes[i + 1]) << 8U : 0U) |
                           (left > 2 ? static_cast<unsigned>(bytes[i + 2]) : 0U);
    for (unsigned k = 0; k < 4; ++k) out += k <= left ? letters[(value >> (18U - 6U * k)) & 63U] : '=';
  }
  return out;
}

void write_text(const std::filesystem::path& file, const std::string& text,
                const std::filesystem::path& target) {
  std::ofstream out(file, std::ios::binary);
  out << text;
  out.close();
  if (out) return;
  std::error_code ignored;
  std::filesystem::remove(file, ignored);
  throw sim::Error(sim::ErrorKind::file, target.string() + ": could not be written");
}

}  // namespace glassbowl::viz
