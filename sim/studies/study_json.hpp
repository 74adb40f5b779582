#pragma once
#include <string>
#include <vector>

#include "sim/studies/study.hpp"

namespace glassbowl::sim {

/// What a study found as one JSON object, made of its file; what is not known, or not finite, is null.
/// `more`: names of files that were written, under "files".
std::string study_json(const StudyResult& result, const StudyRequest& request,
                       const std::vector<std::string>& files);

}  // namespace glassbowl::sim
