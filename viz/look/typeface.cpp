#include "viz/look/typeface.hpp"

#include <SFML/System/Err.hpp>
#include <array>
#include <cstdlib>

#include "sim/api/error.hpp"
#include "viz/quiet.hpp"

namespace glassbowl::viz {
namespace {

constexpr std::array inter{
    "/usr/share/fonts/opentype/inter/Inter-Regular.otf", "/usr/share/fonts/opentype/inter/Inter.otf",
    "/usr/share/fonts/truetype/inter/Inter-Regular.ttf", "/usr/local/share/fonts/Inter-Regular.otf"};
constexpr std::array fallback{"/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf",
                              "/usr/share/fonts/truetype/liberation/LiberationSans-Regular.ttf",
                              "/usr/share/fonts/truetype/noto/NotoSans-Regular.ttf",
                              "/usr/share/fonts/truetype/freefont/FreeSans.ttf"};

bool load(Typeface& typeface, const std::filesystem::path& file) {
  std::error_code ignored;
  const Quiet quiet;
  if (!std::filesystem::is_regular_file(file, ignored) || !typeface.font.loadFromFile(file.string()))
    return false;
  typeface.file = file;
  return true;
}

}  // namespace

void load_typeface(Typeface& typeface, const std::optional<std::filesystem::path>& wanted) {
  std::string looked;
  const auto attempt = [&](const std::filesystem::path& file) {
    if (load(typeface, file)) return true;
    looked += "\n  " + file.string();
    return false;
  };
  if (wanted) {
    if (attempt(*wanted)) return;
    throw sim::Error(sim::ErrorKind::file, wanted->string() + ": not a font that can be read");
  }
  for (const char* file : inter)
    if (attempt(file)) return;
  for (const char* file : fallback) {
    if (!attempt(file)) continue;
    typeface.notice = "Inter was not found, so " + std::filesystem::path(file).filename().string() +
                      " is used; Debian's package fonts-inter holds it";
    return;
  }
  throw sim::Error(sim::ErrorKind::file,
                   "no font was found. Looked at:" + looked +
                       "\nInstall fonts-inter (or fonts-dejavu-core), or give --font FILE");
}

}  // namespace glassbowl::viz
