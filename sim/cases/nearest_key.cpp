#include "sim/cases/nearest_key.hpp"

#include <algorithm>

namespace glassbowl::sim {

std::size_t edit_distance(std::string_view a, std::string_view b, std::size_t most) {
  std::vector<std::size_t> before(b.size() + 1), last(b.size() + 1), now(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) last[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    now[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      now[j] = std::min({last[j] + 1, now[j - 1] + 1, last[j - 1] + (a[i - 1] == b[j - 1] ? 0U : 1U)});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
        now[j] = std::min(now[j], before[j - 2] + 1);
    }
    std::swap(before, last);
    std::swap(last, now);
    if (*std::min_element(last.begin(), last.end()) > most) return most + 1;  // which never falls again
  }
  return last[b.size()];
}

std::string nearest_key(std::string_view key, const std::vector<std::string>& known) {
  // Names longer than any key are not worth comparing.
  if (key.size() > 200) return {};
  const auto name = [](std::string_view path) { return path.substr(path.rfind('.') + 1); };
  std::string best;
  std::size_t best_distance = std::max<std::size_t>(2, name(key).size() / 3) + 1;
  for (const std::string& candidate : known) {
    const bool same_name = name(key) == name(candidate);
    const std::size_t lengths_apart =
        std::max(key.size(), candidate.size()) - std::min(key.size(), candidate.size());
    if (!same_name && lengths_apart >= best_distance) continue;  // nor is their distance less
    std::size_t distance = edit_distance(key, candidate, same_name ? 2 : best_distance);
    if (same_name) distance = std::min<std::size_t>(distance, 2);
    if (distance < best_distance) {
      best = candidate;
      best_distance = distance;
    }
  }
  return best;
}

}  // namespace glassbowl::sim
