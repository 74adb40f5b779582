#pragma once
#include <filesystem>
#include <string>
#include <vector>

namespace glassbowl::sim {

/// Every file behind what a user names: a trace, or a case and the bases that it is made of.
std::vector<std::filesystem::path> files_of(const std::string& given);

/// Refuses, whatever --force says, to write over what a command reads: a case or trace of the user's own.
/// Throws Error{input} that names the file.
void refuse_own_input(const std::vector<std::filesystem::path>& outputs,
                      const std::vector<std::filesystem::path>& inputs);

/// The files that a study command writes, by the name of its study.
struct StudyOutputs {
  std::filesystem::path study, points, page, pdf;
  std::filesystem::path base;  ///< of the charts' names
};

StudyOutputs study_outputs(const std::filesystem::path& study);

/// Refuses, before anything begins, every name that the study of this kind cannot have. Throws Error{input}.
void check_study_outputs(const StudyOutputs& outputs, const std::string& kind, bool charts, bool pdf,
                         bool force);

}  // namespace glassbowl::sim
