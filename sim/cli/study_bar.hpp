#pragma once
#include <chrono>
#include <cstddef>

namespace glassbowl::sim {

/// A line on the terminal that shows how many points of a study are finished and how long the rest takes;
/// silent where stderr is no terminal.
class StudyBar {
 public:
  StudyBar();
  ~StudyBar();
  StudyBar(const StudyBar&) = delete;
  StudyBar& operator=(const StudyBar&) = delete;

  void show(std::size_t done, std::size_t of);

 private:
  bool visible_, drawn_ = false;
  std::size_t first_ = 0;  // points that were finished before
  std::chrono::steady_clock::time_point begin_, last_{};
};

}  // namespace glassbowl::sim
