#pragma once
#include <Eigen/Core>
#include <cmath>
#include <deque>

namespace glassbowl::sim {

/// Greatest magnitude; infinite where one is no number.
double largest(const Eigen::VectorXd& values);

/// Judges, cycle by cycle, whether a search for the cycle that repeats itself has come to its end. By either
/// of two signs:
///  - a few cycles one after another, each with little left: neither the slow states still have to go, nor
///    would the figures, shrinking in their steps as they did this time, go far;
///  - means over rounds of a few cycles that stand still while single cycles still swing about them. What is
///    left is taken from the steps between three rounds' means, as Aitken does.
/// Source  Aitken, Proc. Royal Soc. Edinburgh 46 (1926) 289, for the remainder of a geometric sequence.
class ConvergenceMonitor {
 public:
  /// `tolerance` [-] of what may be left; `in_a_row` cycles must show the first sign; `round` cycles make a
  /// round.
  ConvergenceMonitor(double tolerance, int in_a_row, int round)
      : tolerance_(tolerance), in_a_row_(in_a_row), round_(round) {}

  /// Takes in a cycle: its figures so that differences are relative, and how far the slow states were to be
  /// taken ahead after it, in the same measure.
  void add(const Eigen::VectorXd& figures, double ahead);

  /// How many of the last cycles show the end, 0 while it has not come. Their mean is what was found.
  int shown() const { return shown_; }
  double left() const { return left_; }  ///< [-] estimated after the last cycle
  /// Whether figures have ranged as far over the last cycles as over those before: what misfires by turns or
  /// hunts has no cycle that repeats itself.
  bool goes_round() const;
  static constexpr int seen_in = 48;  ///< cycles: two halves, of whole rounds of 2, 3 and 4

 private:
  bool swings_about_an_end() const;
  Eigen::VectorXd mean_of_round(int back) const;

  double tolerance_;
  int in_a_row_;
  int round_;
  struct Entry {
    Eigen::VectorXd figures;
    double ahead;
  };
  std::deque<Entry> last_;
  double moved_ = INFINITY, left_ = INFINITY;
  int repeated_ = 0, stood_ = 0;
  int shown_ = 0;
};

}  // namespace glassbowl::sim
