#pragma once
#include <functional>
#include <string>
#include <vector>

/// How fast the program is, as ratios of what it does in one and the same run: a machine's speed drops out,
/// and so does most of its noise, by medians over interleaved repeats. No test: figures of time belong into
/// no test.
namespace glassbowl::bench {

struct Figure {
  enum class Goal { at_least, at_most, within_0_05 };
  std::string name;
  double value, goal;
  Goal kind = Goal::at_least;
  std::string note = {};  ///< how it was found, for people
  bool held() const;
};
using Figures = std::vector<Figure>;

using Work = std::function<void()>;
using Clock = double (*)(const Work&);
double processor_time(const Work& work);  ///< [s] of this process, all its threads
double wall_time(const Work& work);       ///< [s]; where threads are compared

/// Median times [s] of several pieces of work, done in turn so that all meet the same weather.
std::vector<double> interleaved(int repeats, Clock clock, const std::vector<Work>& all);

}  // namespace glassbowl::bench
