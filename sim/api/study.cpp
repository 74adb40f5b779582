#include "sim/api/study.hpp"

#include <algorithm>
#include <stdexcept>

#include "sim/points/point_scheduler.hpp"
#include "sim/studies/request_limits.hpp"
#include "sim/studies/study.hpp"
#include "sim/trace/result_file.hpp"

namespace glassbowl::sim {

const ResultVariable& StudyAnswer::figure(const std::string& name) const {
  const auto found =
      std::find_if(figures.begin(), figures.end(), [&](const auto& f) { return f.name == name; });
  if (found == figures.end()) throw std::invalid_argument("the study has no figure \"" + name + "\"");
  return *found;
}

StudyAnswer run_study(const Case& bike, const StudyQuestion& question, const StudySettings& settings) {
  StudyRequest request;
  request.study = question.study;
  request.speeds = question.speeds;
  request.openings = question.openings;
  request.altitudes = question.altitudes;
  check_request(request, bike.resolved());
  PointScheduler scheduler(nullptr, settings.threads, settings.stop, settings.progress);
  StudyResult result = run_study(bike.resolved(), request, scheduler);
  if (!settings.output.empty()) write_result_file(settings.output, settings.replace, result.file);
  return {result.verdict, result.caution,   result.answer,
          result.table,   result.file.axes, result.file.variables};
}

}  // namespace glassbowl::sim
