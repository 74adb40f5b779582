#pragma once
#include <chrono>

namespace glassbowl::sim {

/// A line on the terminal that shows how far a run has come; silent where stderr is no terminal.
class ProgressBar {
 public:
  ProgressBar();
  ~ProgressBar();
  ProgressBar(const ProgressBar&) = delete;
  ProgressBar& operator=(const ProgressBar&) = delete;

  void show(double share, double time);

 private:
  bool visible_;
  bool drawn_ = false;
  std::chrono::steady_clock::time_point begin_, last_;
};

}  // namespace glassbowl::sim
