#include "sim/cases/find_case.hpp"

#include <fmt/format.h>

#include <toml++/toml.h>
#include <algorithm>
#include <sstream>
#include <string_view>
#include <system_error>

#include "sim/api/error.hpp"
#include "sim/cases/case_limits.hpp"
#include "sim/cases/excerpt.hpp"
#include "sim/cases/input_file.hpp"
#include "sim/cases/layers.hpp"
#include "sim/cases/nearest_key.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

/// Its title, or what its first comment says.
std::string title_of(const fs::path& file) {
  try {
    const std::string text = InputFile(file, file.string(), "").read(limits::file_bytes);
    if (const auto title = toml::parse(text)["title"].value<std::string>()) return clipped(*title, 200);
    std::string line;
    std::getline(std::istringstream(text) >> std::ws, line);
    return line.starts_with("# ") ? clipped(line.substr(2), 200) : std::string();
  } catch (const toml::parse_error&) {  // a listing names the file even so; running it tells the problem
  } catch (const Error&) {              // it went away just now, or may not be read
  }
  return {};
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
    if (const auto kind = other_than_a_file(given); !kind.empty())
      throw Error(ErrorKind::input, fmt::format("{}: this is {}; give a case file or a trace", given, kind));
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
  return InputFile(file, file.string(), "give a case file or a trace").read(signature.size()) == signature;
}

}  // namespace glassbowl::sim
