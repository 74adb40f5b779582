#include "sim/cli/source.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <sstream>

#include "sim/api/error.hpp"
#include "sim/api/trace.hpp"
#include "sim/cases/find_case.hpp"
#include "sim/cases/keys.hpp"
#include "sim/cli/say.hpp"
#include "sim/run/version.hpp"
#include "sim/studies/idle_setting.hpp"

namespace glassbowl::sim {
namespace {

bool lacks_only_a_ride(const std::filesystem::path& file, const std::vector<std::string>& sets) {
  try {
    read_case(file, with_ride(sets));
    return true;
  } catch (const Error&) {
    return false;
  }
}

ResolvedCase read_file(const std::filesystem::path& file, const std::vector<std::string>& sets,
                       Targets targets) {
  return targets == Targets::find ? read_case_with_targets(file, sets) : read_case(file, sets);
}

/// What only a ride has: sections, and keys of [load], where a bike has its mass and gearing.
constexpr std::array ride_sections{"rider", "run"};
constexpr std::array ride_keys{"kind", "speed", "released"};

bool gives_ride(const std::filesystem::path& file, const std::vector<std::string>& sets) {
  const Keys keys(Layers::read(file, sets));
  const auto given = [&](const std::string& path) { return keys.given(path); };
  return std::any_of(ride_sections.begin(), ride_sections.end(), given) ||
         std::any_of(ride_keys.begin(), ride_keys.end(),
                     [&](const std::string& key) { return given("load." + key); });
}

}  // namespace

std::optional<ResolvedCase> read_bike_alone(const std::string& given, const std::vector<std::string>& sets,
                                            Targets targets) {
  const std::filesystem::path file = find_case(given);
  if (is_trace(file) || gives_ride(file, sets)) return std::nullopt;
  return read_file(file, with_ride(sets), targets);
}

std::string without_ride(const std::string& text) {
  // Each key has its line, below that of its section.
  std::istringstream lines(text);
  std::string out, section;
  for (std::string line; std::getline(lines, line);) {
    if (line.starts_with('[')) section = line.substr(1, line.find(']') - 1);
    const bool of_ride =
        section == "load"
            ? std::any_of(ride_keys.begin(), ride_keys.end(),
                          [&](const std::string& key) { return line.starts_with(key + " = "); })
            : std::find(ride_sections.begin(), ride_sections.end(), section) != ride_sections.end();
    if (!of_ride) out += line + "\n";
  }
  return out;
}

std::vector<std::string> with_ride(const std::vector<std::string>& sets) {
  std::vector<std::string> out{"load.kind=held_speed", "load.speed=3000 rpm", "run.duration=1 s"};
  out.insert(out.end(), sets.begin(), sets.end());
  return out;
}

ResolvedCase read_source(const std::string& given, const std::vector<std::string>& sets, Targets targets) {
  std::filesystem::path file = find_case(given);
  if (!is_trace(file)) {
    try {
      return read_file(file, sets, targets);
    } catch (const Error& failure) {
      // What newcomers try first.
      if (failure.kind() != ErrorKind::case_file || !lacks_only_a_ride(file, sets)) throw;
      throw Error(
          failure.kind(),
          fmt::format("{}\nA bike alone has no ride. Studies such as `glassbowl map {}` bring their own; "
                      "`glassbowl list runs` names whole runs",
                      failure.what(), given));
    }
  }
  const TraceReader trace(file);
  if (file.extension() == ".partial") file.replace_extension();
  return read_stored_case(trace.case_resolved(), file, trace.program_version(), sets);
}

ResolvedCase read_stored_case(const std::string& text, const std::filesystem::path& file,
                              std::string_view version, const std::vector<std::string>& sets) {
  const bool other = version != program_version();
  const std::string by = fmt::format("{} was written by glassbowl {}, and this is {}", file.string(),
                                     version.empty() ? "of unknown version" : version, program_version());
  try {
    ResolvedCase out = read_case_text(text, file.stem().string(), sets);
    if (other) say_to(stderr, "note: {}; CHANGELOG names the figures that moved\n", by);
    return out;
  } catch (const Error& failure) {
    if (!other || failure.kind() != ErrorKind::case_file) throw;
    throw Error(failure.kind(),
                fmt::format("{}\n{}. Its case needs the changes above. It lies in the dataset "
                            "case_resolved; python3-h5py takes it out: python3 -c \"import h5py; "
                            "print(h5py.File('{}')['case_resolved'].asstr()[()])\" > case.toml",
                            failure.what(), by, file.string()));
  }
}

}  // namespace glassbowl::sim
