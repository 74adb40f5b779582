#include "sim/cli/source.hpp"

#include "sim/api/trace.hpp"
#include "sim/run/find_case.hpp"

namespace glassbowl::sim {

ResolvedCase read_source(const std::string& given, const std::vector<std::string>& sets) {
  std::filesystem::path file = find_case(given);
  if (!is_trace(file)) return read_case(file, sets);
  const TraceReader trace(file);
  if (file.extension() == ".partial") file.replace_extension();
  return read_case_text(trace.case_resolved(), file.stem().string(), sets);
}

}  // namespace glassbowl::sim
