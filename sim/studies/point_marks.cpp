#include "sim/studies/point_marks.hpp"

#include <fmt/format.h>

#include "sim/run/summary.hpp"
#include "sim/studies/judging.hpp"

namespace glassbowl::sim {
std::vector<PointMark> marks_of(const SteadyFigures& f) {
  std::vector<PointMark> marks;
  if (!f.usable()) return marks;
  if (pulls(f) && lugging(f))
    marks.push_back(PointMark::not_judged);
  else if (pulls(f) && !(leanest_of(f) <= lean_limit_under_load(f.filling) - search_rounding))
    marks.push_back(PointMark::beyond_limit);
  if (f.misfires > most_misfires) marks.push_back(PointMark::misfires);
  if (!f.converged()) marks.push_back(PointMark::not_converged);
  if (f.jump > 0.0) marks.push_back(PointMark::jump);
  if (two_valued(f)) marks.push_back(PointMark::two_valued);
  return marks;
}

std::string signs_of(const SteadyFigures& figures) {
  std::string signs;
  for (const PointMark mark : marks_of(figures)) signs += sign_of(mark);
  return signs;
}

std::string signs_behind(const SteadyFigures& figures) {
  return (no_fuel(figures.trapped) ? " " : "") + signs_of(figures);
}

std::string signs_text() {
  std::string text;
  for (const auto mark : {PointMark::beyond_limit, PointMark::not_judged, PointMark::misfires,
                          PointMark::not_converged, PointMark::jump, PointMark::two_valued})
    text += fmt::format("{}{} {}", text.empty() ? "" : ", ", sign_of(mark), meaning_of(mark));
  return text;
}

void add_marks(Chart& chart, const SteadyFigures& figures, double x, double y) {
  for (const PointMark mark : marks_of(figures)) chart.marks.push_back({mark, x, y});
}

}  // namespace glassbowl::sim
