#include "sim/studies/request_limits.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <stdexcept>

#include "sim/api/error.hpp"
#include "sim/cases/case_limits.hpp"
#include "sim/cases/key_units.hpp"
#include "sim/cases/keys.hpp"
#include "sim/cases/quantity.hpp"
#include "sim/studies/adjuster.hpp"
#include "sim/studies/judging.hpp"
#include "sim/studies/steady_map.hpp"

namespace glassbowl::sim {
namespace {

[[noreturn]] void refuse(const std::string& option, const std::string& what) {
  throw Error(ErrorKind::input, fmt::format("{}: {}", option, what));
}

void check_list(const std::vector<double>& values, const AllowedValues& allowed) {
  if (values.size() > most_values)
    refuse(allowed.option,
           fmt::format("{} values are given; at most {} are allowed", values.size(), most_values));
  for (const double value : values)
    if (!(value >= allowed.low && value <= allowed.high))
      refuse(allowed.option,
             fmt::format("{} is outside {} to {}", format(value, allowed.unit),
                         format(allowed.low, allowed.unit), format(allowed.high, allowed.unit)));
  if (std::adjacent_find(values.begin(), values.end(), std::greater_equal<>()) != values.end())
    refuse(allowed.option, "the values must rise, each given once");
}

void check_name(const std::string& option, const std::string& name) {
  if (name.size() > most_name_bytes)
    refuse(option,
           fmt::format("its name has {} bytes; at most {} are allowed", name.size(), most_name_bytes));
}

void check_sets(const std::string& option, const Sets& sets, const ResolvedCase& resolved) {
  if (sets.empty()) return;
  try {
    read_case_text(resolved.text, resolved.name, sets);
  } catch (const Error& failure) {
    refuse(option, failure.what());
  }
}

void check_tries(const StudyRequest& request, const ResolvedCase& resolved) {
  const auto adjusters = adjusters_of(resolved);
  for (const auto& [id, sizes] : request.tries) {
    const AllowedValues allowed = allowed_tries(id, resolved);
    check_list(sizes, allowed);
    const Adjuster& a = find_adjuster(adjusters, id);
    for (const double size : sizes) try {
        read_case_text(resolved.text, resolved.name, a.setting(size));
      } catch (const Error& failure) {
        refuse(allowed.option, fmt::format("{} does not go with the rest of this carburetor:\n{}",
                                           a.text(size), failure.what()));
      }
  }
}

void check_accuracy(const PointAccuracy& a) {
  constexpr double finest = 1e-7, coarsest = 0.1;
  constexpr int most_in_a_row = 100, most_cycles = 10'000;
  if (!(a.tolerance >= finest && a.tolerance <= coarsest) || a.in_a_row < 1 || a.in_a_row > most_in_a_row ||
      a.most_cycles < 1 || a.most_cycles > most_cycles)
    refuse("accuracy",
           fmt::format("a tolerance of {:g} over {} cycles in a row, {} at most, is outside {:g} to "
                       "{:g}, 1 to {} and 1 to {}",
                       a.tolerance, a.in_a_row, a.most_cycles, finest, coarsest, most_in_a_row, most_cycles));
}

}  // namespace

const AllowedValues allowed_speeds{"--speeds", units::revolutions_per_minute, from_per_minute(200),
                                   from_per_minute(16000), "2000, 4000 rpm"};
const AllowedValues allowed_openings{"--openings", units::percent, 0.0, 1.0, "5, 20, 100 %"};
const AllowedValues allowed_altitudes{"--altitudes", "m", -400.0, 6000.0, "0, 1200, 2700 m"};
const AllowedValues allowed_warmer{"--warmer", units::temperature_difference, -60.0, 60.0, "-20, 0, 15 K"};

AllowedValues allowed_targets(const std::string& region) {
  return {"--target " + region, units::one, 0.72, 1.05, "full=0.87"};
}

AllowedValues allowed_tries(const std::string& adjuster, const ResolvedCase& resolved) {
  const auto adjusters = adjusters_of(resolved);
  const Adjuster& a = find_adjuster(adjusters, adjuster);
  const auto all = declared_keys();
  const auto key = std::find_if(all.begin(), all.end(), [&](const auto& d) { return d.path == a.key; });
  if (key == all.end()) throw std::logic_error("an adjuster turns an undeclared key: " + a.key);
  return {"--try " + a.id,
          a.unit == units::one ? units::one : std::string_view("mm"),
          to_si(key->range.lowest, key->unit),
          to_si(key->range.highest, key->unit),
          fmt::format("{}={}", a.id, format(a.fitted, a.unit)),
          key->path.ends_with(".bore")};
}

void check_request(const StudyRequest& r, const ResolvedCase& resolved) {
  check_list(r.speeds, allowed_speeds);
  check_list(r.openings, allowed_openings);
  check_list(r.altitudes, allowed_altitudes);
  check_list(r.warmer, allowed_warmer);
  if (const std::size_t points = grid_of(resolved, r).size(); points > most_points)
    refuse(
        "--speeds, --openings, --altitudes, --warmer",
        fmt::format("they make {} points; at most {} are allowed: give fewer values", points, most_points));
  if (r.variants.size() > most_variants)
    refuse("--variant",
           fmt::format("{} are given; at most {} are allowed", r.variants.size(), most_variants));
  for (const auto& variant : r.variants) {
    check_name("--variant", variant.name);
    check_sets(fmt::format("--variant \"{}\"", variant.name), variant.sets, resolved);
  }
  check_tries(r, resolved);
  for (const auto& [region, lambda] : r.targets) {
    if (!usual_targets().contains(region))
      refuse(fmt::format("--target \"{}\"", region), "regions are small, part and full");
    check_list({lambda}, allowed_targets(region));
  }
  check_sets("--after", r.change, resolved);
  check_name("--beside", r.beside_name);
  if (!r.beside.empty()) read_case_text(r.beside, r.beside_name);
  check_accuracy(r.accuracy);
}

}  // namespace glassbowl::sim
