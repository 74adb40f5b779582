#pragma once
#include <string>

#include "viz/lessons/lesson.hpp"
#include "viz/playback.hpp"

namespace glassbowl::viz {

/// A lesson on one run: where its steps lie in time, and the answer that the run gives.
class LessonRun {
 public:
  /// Errors   sim::Error{input} when the run lacks what the lesson needs; says which run would do.
  LessonRun(Lesson lesson, Source& source);

  const Lesson& lesson() const { return lesson_; }
  std::size_t step() const { return step_; }
  bool at_question() const { return step_ == lesson_.steps.size(); }
  bool answered() const { return answered_; }
  const std::string& answer() const { return answer_; }

  /// Goes to a step, or to the question behind the last one, and sets the clock.
  void go_to(std::size_t step, Playback& playback);
  /// Starts the step's span again once it has been played.
  void keep_time(Playback& playback);
  void show_answer() { answered_ = true; }

  /// Span of the present step [s].
  double from() const { return from_; }
  double to() const { return to_; }
  double event_time(Event event) const;
  /// A value measured on the run, in SI.
  double measure(const LessonValue& value) const;

 private:
  Lesson lesson_;
  Source& source_;
  std::size_t step_ = 0;
  double from_ = 0.0, to_ = 0.0;
  double moves_ = 0.0, stops_ = 0.0;
  bool has_movement_ = false, answered_ = false;
  std::string answer_;
};

}  // namespace glassbowl::viz
