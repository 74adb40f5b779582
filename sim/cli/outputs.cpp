#include "sim/cli/outputs.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <system_error>

#include "sim/api/error.hpp"
#include "sim/api/new_file.hpp"
#include "sim/cases/find_case.hpp"
#include "sim/cases/layers.hpp"
#include "sim/studies/study.hpp"

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

StudyOutputs study_outputs(const std::filesystem::path& study) {
  const auto base = std::filesystem::path(study).replace_extension();
  return {study, study.string() + ".points", base.string() + ".html", base.string() + ".pdf", base};
}

namespace {

/// Which charts there will be is known only in the end; how their names begin is known now.
void check_charts(const StudyOutputs& outputs, const std::string& kind, bool force) {
  const std::string base = outputs.base.filename().string() + "-";
  std::vector<std::string> begins;
  for (const auto& name : chart_names(kind)) {
    check_output(outputs.base.string() + "-" + name + "_00000rpm.svg", true);  // the longest
    begins.push_back(base + name);
  }
  const auto folder = outputs.base.has_parent_path() ? outputs.base.parent_path() : ".";
  std::error_code unlisted;  // then each is refused when it is written
  for (const auto& entry : std::filesystem::directory_iterator(folder, unlisted)) {
    const std::string name = entry.path().filename().string();
    if ((name.ends_with(".svg") || name.ends_with(".png")) &&
        std::any_of(begins.begin(), begins.end(), [&](const auto& begin) { return name.starts_with(begin); }))
      check_output(entry.path(), force);
  }
}

}  // namespace

void check_study_outputs(const StudyOutputs& outputs, const std::string& kind, bool charts, bool pdf,
                         bool force) {
  std::vector<std::filesystem::path> names{outputs.study};
  if (kind == "sheet") names.push_back(outputs.page);
  if (pdf) names.push_back(outputs.pdf);
  for (const auto& name : names) check_output(name, force);
  check_output(outputs.points, true);
  names.push_back(outputs.points);
  check_distinct(names);
  if (charts) check_charts(outputs, kind, force);
}

}  // namespace glassbowl::sim
