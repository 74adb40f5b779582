#include "sim/bike/provenance.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace glassbowl::sim {

std::size_t Provenance::borrowed_in_all() const {
  std::size_t all = 0;
  for (const auto& [file, count] : borrowed) all += count;
  return all;
}

bool describes_machine(const Origin& origin, const Bike<double>& bike) {
  const std::string_view path = origin.path;
  const auto lies_in = [&](const char* section) { return path.starts_with(section); };
  if (origin.meaning.starts_with("fault:")) return false;
  for (const char* section : {"load.", "rider.", "air.", "run.", "stock.", "numerics.", "fuel."})
    if (lies_in(section)) return false;
  if (path.find('.') == std::string_view::npos) return false;  // title and the like
  const auto& c = bike.carburetor;
  const bool lifts = c.kind == CarburetorKind::constant_depression;
  if (!lifts && (lies_in("carburetor.piston.") || lies_in("carburetor.needle."))) return false;
  if (lifts && path == "carburetor.venturi.diameter") return false;
  // Whether a part is there at all is a value in any case.
  for (const auto& [section, fitted] : {std::pair{"carburetor.choke.", c.choke.fitted},
                                        {"carburetor.pump.", c.pump.fitted},
                                        {"carburetor.enrichment.", c.enrichment.fitted}})
    if (lies_in(section) && !fitted && !path.ends_with(".fitted")) return false;
  return true;
}

Provenance provenance_of(const ResolvedCase& resolved) {
  Provenance out;
  for (const Origin& origin : resolved.origins) {
    if (!describes_machine(origin, resolved.bike)) continue;
    if (origin.kind == Origin::Kind::own) {
      ++out.own;
      if (origin.source == "--set") ++out.overrides;
    } else if (origin.kind == Origin::Kind::fallback) {
      ++out.defaults;
    } else {
      const auto file = std::find_if(out.borrowed.begin(), out.borrowed.end(),
                                     [&](const auto& known) { return known.first == origin.source; });
      if (file == out.borrowed.end())
        out.borrowed.emplace_back(origin.source, 1);
      else
        ++file->second;
    }
  }
  std::stable_sort(out.borrowed.begin(), out.borrowed.end(),
                   [](const auto& a, const auto& b) { return a.second > b.second; });
  return out;
}

std::string provenance_text(const ResolvedCase& resolved) {
  const Provenance p = provenance_of(resolved);
  constexpr std::size_t shown = 3;
  std::string files;
  for (std::size_t i = 0; i < std::min(shown, p.borrowed.size()); ++i)
    files += fmt::format("{}{} from {}", i == 0 ? "" : ", ", p.borrowed[i].second, p.borrowed[i].first);
  if (p.borrowed.size() > shown) files += fmt::format(", and from {} more files", p.borrowed.size() - shown);
  return fmt::format("{}{} of its own{}, {} borrowed{}, {} defaults",
                     resolved.invented ? "invented demonstration data; " : "", p.own,
                     p.overrides > 0 ? fmt::format(" ({} by --set)", p.overrides) : "", p.borrowed_in_all(),
                     files.empty() ? "" : " (" + files + ")", p.defaults);
}

}  // namespace glassbowl::sim
