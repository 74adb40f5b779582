#include "sim/cli/outputs.hpp"

#include <fmt/format.h>

#include <system_error>

#include "sim/api/error.hpp"
#include "sim/cases/layers.hpp"
#include "sim/run/find_case.hpp"

namespace glassbowl::sim {

std::vector<std::filesystem::path> files_of(const std::string& given) {
  std::vector<std::filesystem::path> files{find_case(given)};
  if (is_trace(files.front())) return files;
  for (const auto& name : Layers::read(files.front(), {}, shipped_cases()).files()) files.emplace_back(name);
  return files;
}

void refuse_own_input(const std::vector<std::filesystem::path>& outputs,
                      const std::vector<std::filesystem::path>& inputs) {
  for (const auto& output : outputs)
    for (const auto& input : inputs) {
      std::error_code ignored;  // what is not there is not the same
      if (std::filesystem::equivalent(output, input, ignored))
        throw Error(ErrorKind::input,
                    fmt::format("{}: would be written over what is read from it; give another name",
                                output.string()));
    }
}

}  // namespace glassbowl::sim
