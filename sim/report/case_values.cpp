#include "sim/report/case_values.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>

#include "sim/bike/provenance.hpp"
#include "sim/cases/estimate_note.hpp"

namespace glassbowl::sim {
namespace {

using Json = nlohmann::ordered_json;

std::map<std::string, std::string> units_of_keys() {
  std::map<std::string, std::string> out;
  for (const auto& key : declared_keys()) out[key.path] = key.unit;
  return out;
}

bool is_found(const Origin& origin) {
  return origin.source.starts_with("found for") || origin.source.starts_with("first guess");
}

}  // namespace

const char* origin_name(Origin::Kind kind) {
  switch (kind) {
    case Origin::Kind::own:
      return "own";
    case Origin::Kind::borrowed:
      return "borrowed";
    case Origin::Kind::estimated:
      return "estimated";
    case Origin::Kind::fallback:
      return "default";
  }
  return "default";
}

std::string plain_value(const Origin& origin) {
  std::string text = origin.value;
  std::erase(text, '"');
  return text;
}

std::string estimates_text(const ResolvedCase& resolved) {
  const auto units = units_of_keys();
  std::string found, estimated;
  std::size_t count = 0;
  for (const Origin& origin : resolved.origins) {
    if (origin.kind != Origin::Kind::estimated) continue;
    if (is_found(origin)) {
      found += fmt::format("{} = {}, {}\n", origin.path, plain_value(origin), origin.source);
      continue;
    }
    if (!describes_machine(origin, resolved.bike)) continue;
    const std::string spread = spread_text(origin.spread, units.at(origin.path));
    estimated += fmt::format("{} = {}{}{}: {}\n", origin.path, plain_value(origin),
                             spread.empty() ? "" : " +- ", spread, origin.source);
    ++count;
  }
  if (count > 0)
    estimated = fmt::format(
        "Estimated, {} sizes; half of the 95 % range behind +-. Measure them, and give "
        "them in their place:\n{}",
        count, estimated);
  if (!found.empty()) found = "Targets:\n" + found;
  return found + estimated;
}

std::string check_json(const ResolvedCase& resolved) {
  const auto units = units_of_keys();
  const Provenance counts = provenance_of(resolved);
  Json out;
  out["case"] = resolved.name;
  out["title"] = resolved.title;
  out["warnings"] = resolved.warnings;
  out["counts"] = {{"own", counts.own},
                   {"estimated", counts.estimated},
                   {"borrowed", counts.borrowed_in_all()},
                   {"default", counts.defaults}};
  out["values"] = Json::array();
  for (const Origin& origin : resolved.origins) {
    Json value;
    value["key"] = origin.path;
    value["value"] = plain_value(origin);
    value["origin"] = origin_name(origin.kind);
    value["from"] = origin.source;
    const std::string spread = spread_text(origin.spread, units.at(origin.path));
    value["spread"] = spread.empty() ? Json() : Json(spread);
    out["values"].push_back(std::move(value));
  }
  return out.dump(2) + "\n";
}

}  // namespace glassbowl::sim
