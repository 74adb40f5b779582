#include "viz/lessons/lesson_run.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "sim/api/case.hpp"
#include "sim/api/error.hpp"
#include "viz/look/units.hpp"

namespace glassbowl::viz {
namespace {

constexpr double slack = 0.025;    // [s] by which a run may be too short for a step
constexpr double movement = 1e-3;  // of throttle per row that counts as moving

std::string unit_of(const Source& source, const LessonValue& value) {
  if (value.measure == Measure::delay) return "s";
  const int channel = source.find(value.channel);
  if (channel != no_channel) return source.channels()[static_cast<std::size_t>(channel)].unit;
  const int cycle = source.find_cycle(value.channel);
  return cycle != no_channel ? source.cycle_channels()[static_cast<std::size_t>(cycle)].unit : "1";
}

std::string written(double value, const std::string& unit) {
  if (!std::isfinite(value)) return "no value in this run";
  if (unit == "s")
    return std::abs(value) < 1.0 ? fmt::format("{:.0f} ms", value * 1e3) : fmt::format("{:.2f} s", value);
  const Shown shown = shown_unit(unit, std::abs(value));
  return shown.unit.empty() ? figures(shown.of(value)) : figures(shown.of(value)) + " " + shown.unit;
}

struct Range {
  double low = std::numeric_limits<double>::infinity(), high = -low;
};

/// Of all rows; in long runs of some thousands of them, spread evenly.
Range range_of(Source& source, const std::string& name) {
  Range range;
  const int channel = source.find(name);
  if (channel == no_channel) return range;
  const std::size_t first = source.first_row(), step = 1 + (source.end_row() - first) / 4000;
  for (std::size_t row = first; row < source.end_row(); row += step) {
    const double v = source.value(channel, row);
    if (!std::isfinite(v)) continue;
    range.low = std::min(range.low, v);
    range.high = std::max(range.high, v);
  }
  return range;
}

/// Whether a channel varies by more than a hundredth of its greatest value.
bool changes(Source& source, const std::string& name) {
  const Range range = range_of(source, name);
  return range.high - range.low > std::max(1e-9, 0.01 * std::max(std::abs(range.low), std::abs(range.high)));
}

bool fits(Source& source, const LessonCondition& wanted) {
  const Range range = range_of(source, wanted.channel);
  const double spread = range.high - range.low;
  return range.low >= wanted.low && range.high <= wanted.high && spread <= wanted.spread &&
         spread >= wanted.least_spread;
}

/// The channel of the run that is most like one that it lacks.
std::string like_it(Source& source, const std::string& name) {
  std::vector<std::string> names;
  for (const auto* list : {&source.channels(), &source.cycle_channels()})
    for (const auto& channel : *list) names.push_back(channel.name);
  const std::string nearest = sim::nearest_name(name, names);
  return nearest.empty() ? "" : " (did you mean " + nearest + "?)";
}

}  // namespace

LessonRun::LessonRun(Lesson lesson, Source& source) : lesson_(std::move(lesson)), source_(source) {
  const auto refuse = [&](const std::string& why) {
    throw sim::Error(sim::ErrorKind::input,
                     fmt::format("\"{}\" cannot be shown on this run: {}. A fitting one: {}", lesson_.title,
                                 why, lesson_.run));
  };
  if (source.empty()) refuse("it has no rows yet");
  for (const auto& name : lesson_.needs)
    if (source.find(name) == no_channel && source.find_cycle(name) == no_channel)
      refuse("it has no channel " + name + like_it(source, name));
  for (const auto& name : lesson_.varies)
    if (!changes(source, name)) refuse("its " + name + " does not change");
  for (const auto& condition : lesson_.fits)
    if (!fits(source, condition)) refuse(condition.why);
  const int throttle = source.find("throttle");
  if (throttle != no_channel) {
    double before = source.value(throttle, source.first_row());
    for (std::size_t row = source.first_row() + 1; row < source.end_row(); ++row) {
      const double now = source.value(throttle, row);
      const bool moving = std::abs(now - before) > movement;
      if (moving && !has_movement_) moves_ = source.row_time(row - 1), has_movement_ = true;
      if (!moving && has_movement_) {
        stops_ = source.row_time(row);
        break;
      }
      before = now;
    }
  }
  const auto needs_movement = [](Event e) {
    return e == Event::throttle_moves || e == Event::throttle_stops;
  };
  bool needed = false;
  for (const auto& step : lesson_.steps) needed = needed || needs_movement(step.event);
  for (const auto& value : lesson_.values) needed = needed || needs_movement(value.event);
  if (needed && !has_movement_) refuse("its throttle does not move");

  for (std::size_t i = 0; i < lesson_.steps.size(); ++i) {
    const auto& step = lesson_.steps[i];
    const double from = event_time(step.event) + step.after;
    if (from < source.first_time() - slack || from + step.span > source.last_time() + slack)
      refuse(fmt::format("its step {} needs {:.2f} s to {:.2f} s, and the run holds {:.2f} s to {:.2f} s",
                         i + 1, from, from + step.span, source.first_time(), source.last_time()));
  }

  answer_ = lesson_.answer;
  for (const auto& value : lesson_.values) {
    const std::string mark = "{" + value.name + "}";
    const std::string text = written(measure(value), unit_of(source_, value));
    for (std::size_t at = answer_.find(mark); at != std::string::npos;
         at = answer_.find(mark, at + text.size()))
      answer_.replace(at, mark.size(), text);
  }
}

double LessonRun::event_time(Event event) const {
  switch (event) {
    case Event::end:
      return source_.last_time();
    case Event::throttle_moves:
      return moves_;
    case Event::throttle_stops:
      return stops_;
    default:
      return source_.first_time();
  }
}

double LessonRun::measure(const LessonValue& value) const {
  const double from = event_time(value.event) + value.after, to = from + value.span;
  std::vector<std::pair<double, double>> points;
  if (const int channel = source_.find(value.channel); channel != no_channel) {
    for (std::size_t row = source_.row_at(from); row < source_.end_row() && source_.row_time(row) <= to;
         ++row)
      points.emplace_back(source_.row_time(row), source_.value(channel, row));
  } else if (const int cycle = source_.find_cycle(value.channel);
             cycle != no_channel && source_.cycles() > 0) {
    std::vector<double> start(source_.cycles()), values(source_.cycles());
    source_.read_cycles(source_.find_cycle("cycle_start"), 0, start);
    source_.read_cycles(cycle, 0, values);
    for (std::size_t i = 0; i < start.size(); ++i)
      if (start[i] >= from && start[i] <= to) points.emplace_back(start[i], values[i]);
  }
  std::erase_if(points, [](const auto& p) { return !std::isfinite(p.second); });
  if (points.empty()) return std::numeric_limits<double>::quiet_NaN();
  const auto by_value = [](const auto& a, const auto& b) { return a.second < b.second; };
  switch (value.measure) {
    case Measure::greatest:
      return std::max_element(points.begin(), points.end(), by_value)->second;
    case Measure::least:
      return std::min_element(points.begin(), points.end(), by_value)->second;
    case Measure::at_event:
      return points.front().second;
    case Measure::mean: {
      double sum = 0.0;
      for (const auto& p : points) sum += p.second;
      return sum / static_cast<double>(points.size());
    }
    default: {
      const double base = points.front().second;
      const double goal =
          base + value.level * (std::max_element(points.begin(), points.end(), by_value)->second - base);
      for (const auto& p : points)
        if (p.second >= goal) return p.first - from;
      return std::numeric_limits<double>::quiet_NaN();
    }
  }
}

void LessonRun::go_to(std::size_t step, Playback& playback) {
  step_ = std::min(step, lesson_.steps.size());
  if (at_question()) {
    playback.playing = false;
    return;
  }
  const auto& s = lesson_.steps[step_];
  from_ = std::clamp(event_time(s.event) + s.after, source_.first_time(), source_.last_time());
  to_ = std::min(from_ + s.span, source_.last_time());
  playback.loop_cycle = false;
  playback.go_to(from_, source_);
  playback.set_rate(s.rate);
  playback.playing = true;
}

void LessonRun::keep_time(Playback& playback) {
  if (at_question() || !playback.playing) return;
  if (playback.time >= to_ || playback.time < from_ - 1e-9) playback.go_to(from_, source_);
}

}  // namespace glassbowl::viz
