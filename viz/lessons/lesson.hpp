#pragma once
#include <filesystem>
#include <string>
#include <vector>

#include "viz/cutaway/hits.hpp"

namespace glassbowl::viz {

/// A place in time that a run decides: its start, its end, the first movement of the throttle, or the moment
/// at which that movement has ended.
enum class Event { start, end, throttle_moves, throttle_stops };

/// What is read off a run for a question's answer.
enum class Measure { greatest, least, mean, delay, at_event };

struct LessonValue {
  std::string name;  ///< of the mark in the answer, {name}
  Measure measure = Measure::greatest;
  std::string channel;  ///< crank-resolved or cycle-averaged
  Event event = Event::start;
  double after = 0.0;  ///< [s] from the event
  double span = 1e9;   ///< [s]
  double level = 0.5;  ///< `delay`: share of the rise to the greatest value
};

/// What all values of a channel must satisfy in a run that fits.
struct LessonCondition {
  std::string channel;                      ///< crank-resolved
  double low = -1e300, high = 1e300;        ///< SI
  double spread = 1e300, least_spread = 0;  ///< bounds on the greatest less the least, SI
  std::string why;                          ///< said when a run does not fit: "the throttle must stay shut"
};

struct LessonStep {
  std::string caption;
  std::vector<Part> highlight;
  Event event = Event::start;
  double after = 0.0;  ///< [s] from the event
  double span = 0.1;   ///< [s] played, then again
  double rate = 0.02;  ///< simulated seconds per second
};

struct Lesson {
  std::string title;
  std::string case_name;            ///< shipped case that makes a fitting trace
  std::string run;                  ///< the command for it
  std::vector<std::string> needs;   ///< channels without which it cannot be shown
  std::vector<std::string> varies;  ///< channels that must change in a run that fits
  std::vector<LessonCondition> fits;
  std::vector<std::string> strips;  ///< usual ones by name, others by channel; all usual ones if empty
  std::vector<LessonStep> steps;
  std::string question, answer;
  std::vector<LessonValue> values;
  std::filesystem::path file;
};

/// Errors   sim::Error{case_file} naming file, line and what is expected.
Lesson read_lesson(const std::filesystem::path& file);

/// All lessons in a folder by name; those that cannot be read are reported in `problems`.
std::vector<Lesson> read_lessons(const std::filesystem::path& folder, std::vector<std::string>& problems);

}  // namespace glassbowl::viz
