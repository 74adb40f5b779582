#include "sim/cli/source.hpp"

#include <fmt/format.h>

#include "sim/api/error.hpp"
#include "sim/api/trace.hpp"
#include "sim/run/find_case.hpp"

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

}  // namespace

std::vector<std::string> with_ride(const std::vector<std::string>& sets) {
  std::vector<std::string> out{"load.kind=held_speed", "load.speed=3000 1/min", "run.duration=1 s"};
  out.insert(out.end(), sets.begin(), sets.end());
  return out;
}

ResolvedCase read_source(const std::string& given, const std::vector<std::string>& sets) {
  std::filesystem::path file = find_case(given);
  if (!is_trace(file)) {
    try {
      return read_case(file, sets);
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
  return read_case_text(trace.case_resolved(), file.stem().string(), sets);
}

}  // namespace glassbowl::sim
