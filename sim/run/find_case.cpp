#include "sim/run/find_case.hpp"

#include <fmt/format.h>

#include <toml++/toml.h>
#include <algorithm>
#include <array>
#include <fstream>
#include <string_view>
#include <system_error>

#include "sim/api/error.hpp"
#include "sim/cases/layers.hpp"
#include "sim/cases/nearest.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

/// Its title, or what its first comment says.
std::string title_of(const fs::path& file) {
  try {
    if (const auto title = toml::parse_file(file.string())["title"].value<std::string>()) return *title;
  } catch (const toml::parse_error&) {  // a listing names the file even so; running it tells the problem
  }
  std::string line;
  std::getline(std::ifstream(file) >> std::ws, line);
  return line.starts_with("# ") ? line.substr(2) : std::string();
}

bool is_file(const fs::path& path) {
  std::error_code ignored;
  return fs::is_regular_file(path, ignored);
}

/// The run or bike whose name comes nearest, as find_case takes it.
std::string nearest_name(const std::string& given) {
  const std::string wanted = fs::path(given).stem().string();
  std::string best;
  std::size_t best_distance = std::max<std::size_t>(2, wanted.size() / 2);
  for (const auto& [folder, before] : {std::pair{"runs", ""}, std::pair{"bikes", "bikes/"}})
    for (const auto& file : shipped_files(folder)) {
      const std::size_t distance = edit_distance(wanted, file.name);
      if (distance > best_distance || (distance == best_distance && !best.empty())) continue;
      best = before + file.name;
      best_distance = distance;
    }
  return best;
}

}  // namespace

std::vector<ShippedFile> shipped_files(const std::string& folder) {
  std::vector<ShippedFile> out;
  const fs::path shipped = shipped_cases();
  std::error_code failure;
  if (shipped.empty()) return out;
  for (const auto& entry : fs::directory_iterator(shipped / folder, failure)) {
    if (entry.path().extension() != ".toml" || !is_file(entry.path())) continue;
    out.push_back({entry.path().stem().string(), title_of(entry.path()), entry.path()});
  }
  std::sort(out.begin(), out.end(),
            [](const ShippedFile& a, const ShippedFile& b) { return a.name < b.name; });
  return out;
}

fs::path find_case(const std::string& given) {
  std::error_code ignored;
  if (!given.empty() && fs::exists(given, ignored)) {
    if (fs::is_directory(given, ignored))
      throw Error(ErrorKind::input, fmt::format("{}: this is a folder; give a case file or a trace", given));
    return given;
  }
  const fs::path shipped = shipped_cases();
  const fs::path name(given);
  const bool stays_inside = name.is_relative() && std::find(name.begin(), name.end(), "..") == name.end();
  if (!shipped.empty() && !given.empty() && stays_inside) {
    for (const fs::path& folder : {shipped / "runs", shipped})
      for (const char* ending : {"", ".toml"})
        if (const fs::path path = (folder / name) += ending; is_file(path)) return path;
  }
  const std::string nearest = nearest_name(given);
  throw Error(
      ErrorKind::input,
      fmt::format("{}: there is no such file, and no shipped run or bike of that name; {}", given,
                  nearest.empty() ? "`glassbowl list runs` and `glassbowl list bikes` show what there is"
                                  : fmt::format("did you mean \"{}\"?", nearest)));
}

bool is_trace(const fs::path& file) {
  constexpr std::string_view signature("\x89HDF\r\n\x1a\n", 8);
  std::array<char, 8> first{};
  std::ifstream stream(file, std::ios::binary);
  stream.read(first.data(), static_cast<std::streamsize>(first.size()));
  return stream && std::string_view(first.data(), first.size()) == signature;
}

}  // namespace glassbowl::sim
