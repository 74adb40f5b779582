#include "sim/live/given_case.hpp"

#include <toml++/toml.h>
#include <filesystem>
#include <sstream>

#include "sim/api/error.hpp"
#include "sim/api/trace.hpp"
#include "sim/cases/find_case.hpp"
#include "sim/studies/idle_setting.hpp"

namespace glassbowl::sim {
namespace {

/// What `over` says goes before what `under` says, table by table.
void lay_over(toml::table& under, const toml::table& over) {
  for (const auto& [key, node] : over) {
    toml::table* below = under.get_as<toml::table>(key);
    if (below != nullptr && node.is_table())
      lay_over(*below, *node.as_table());
    else
      under.insert_or_assign(key, node);
  }
}

/// A ride with the rides that it builds on, down to its bike.
toml::table whole_ride(const std::filesystem::path& file) {
  toml::table own = toml::parse_file(file.string());
  const auto base = own["base"].value<std::string>();
  if (!base)
    throw Error(ErrorKind::input, file.string() + ": this ride names no bike that another could replace");
  const auto below = file.parent_path() / *base;
  if (below.parent_path().lexically_normal() != file.parent_path().lexically_normal()) return own;
  toml::table out = whole_ride(below);
  lay_over(out, own);
  return out;
}

/// A ride's text with another bike below it.
std::string ride_on(const std::filesystem::path& ride, const std::string& bike) {
  const auto file = find_case("bikes/" + bike);
  try {
    toml::table out = whole_ride(ride);
    out.insert_or_assign("base", "bikes/" + file.filename().string());
    out.insert_or_assign("title", out["title"].value_or(ride.stem().string()) + ", " + file.stem().string());
    std::ostringstream text;
    text << out;
    return text.str();
  } catch (const toml::parse_error& error) {
    throw Error(ErrorKind::case_file, ride.string() + ": " + std::string(error.description()));
  }
}

}  // namespace

ResolvedCase read_given(const std::string& given, const std::vector<std::string>& sets) {
  std::error_code ignored;
  const auto plus = given.find('+');
  if (plus != std::string::npos && !std::filesystem::exists(given, ignored)) {
    const auto ride = find_case(given.substr(0, plus));
    return read_case_text(ride_on(ride, given.substr(plus + 1)), given, sets);
  }
  // A shipped bike by itself has no ride: it idles.
  if (given.starts_with("bikes/") && !std::filesystem::exists(given, ignored))
    return read_given("warm_idle+" + std::filesystem::path(given).stem().string(), sets);
  const auto file = find_case(given);
  if (!is_trace(file)) return read_case_with_targets(file, sets);
  return read_case_text(TraceReader(file).case_resolved(), file.stem().string(), sets);
}

}  // namespace glassbowl::sim
