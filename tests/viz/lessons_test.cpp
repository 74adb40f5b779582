#include <catch2/catch.hpp>
#include <fstream>

#include "sim/api/error.hpp"
#include "tests/viz/run_files.hpp"
#include "viz/lessons/lesson_run.hpp"
#include "viz/source/trace_source.hpp"

namespace glassbowl::viz {
namespace {

constexpr double three_minutes = 180.0;

std::vector<Lesson> shipped() {
  std::vector<std::string> problems;
  auto lessons = read_lessons(std::string(GLASSBOWL_CASES) + "/lessons", problems);
  CHECK(problems.empty());
  return lessons;
}

}  // namespace

TEST_CASE("lessons: at least seven can be read, each shorter than three minutes", "[viz][lessons]") {
  const auto lessons = shipped();
  CHECK(lessons.size() >= 7);
  for (const auto& lesson : lessons) {
    double seconds = 0.0;
    for (const auto& step : lesson.steps) {
      seconds += step.span / step.rate;
      CHECK(step.caption.size() < 300);  // legible from a distance
    }
    CAPTURE(lesson.title, seconds);
    CHECK(seconds < three_minutes);
  }
}

TEST_CASE("lessons: answers are measured on the run", "[viz][lessons]") {
  TraceSource source(RunFiles::fixed_venturi());
  const sim::TraceReader trace(RunFiles::fixed_venturi());
  for (const auto& lesson : shipped()) {
    if (lesson.title != "What makes fuel rise") continue;
    const LessonRun run(lesson, source);
    const auto fuel = trace.read("main_fuel_flow");
    CHECK(run.measure(lesson.values[1]) == *std::max_element(fuel.begin(), fuel.end()));
    CHECK(run.answer().find('{') == std::string::npos);
    CHECK(run.event_time(Event::throttle_moves) == Approx(0.1).margin(1e-3));
    CHECK(run.event_time(Event::throttle_stops) == Approx(0.16).margin(1e-3));
  }
  LessonValue delay{"d", Measure::delay, "throttle", Event::throttle_moves, 0.0, 0.2, 0.5};
  Lesson plain;
  plain.title = "plain";
  plain.steps.resize(1);
  CHECK(LessonRun(plain, source).measure([&] {
    delay.event = Event::start;
    delay.after = 0.1;
    return delay;
  }()) == Approx(0.03).margin(1e-3));
}

TEST_CASE("lessons: a run that lacks a part is refused with the command for one that has it",
          "[viz][lessons]") {
  TraceSource source(RunFiles::fixed_venturi());
  for (const auto& lesson : shipped()) {
    if (lesson.title != "How the vacuum piston follows") continue;
    CHECK_THROWS_WITH(LessonRun(lesson, source),
                      Catch::Contains("piston_lift") && Catch::Contains("glassbowl run blip_piston"));
  }
}

TEST_CASE("lessons: the idle lesson takes an idling engine and refuses a throttle that opens",
          "[viz][lessons][anomaly]") {
  const auto lesson = read_lesson(std::string(GLASSBOWL_CASES) + "/lessons/idle_circuit.toml");
  TraceSource opens(RunFiles::fixed_venturi()), idles(RunFiles::idle());
  CHECK_THROWS_WITH(LessonRun(lesson, opens),
                    Catch::Contains("throttle does not stay shut") && Catch::Contains("warm_idle"));
  const LessonRun run(lesson, idles);
  CHECK(run.answer().find("mg/s") != std::string::npos);
  CHECK(run.measure(lesson.values[0]) > 50e-6);
  CHECK(run.measure(lesson.values[0]) < 130e-6);
}

TEST_CASE("lessons: a run that ends before a step does is refused", "[viz][lessons][anomaly]") {
  auto lesson = read_lesson(std::string(GLASSBOWL_CASES) + "/lessons/idle_circuit.toml");
  lesson.steps.back().after = 0.55;
  TraceSource idles(RunFiles::idle());
  CHECK_THROWS_WITH(LessonRun(lesson, idles), Catch::Contains("step 4 needs 0.55 s to 0.65 s"));
}

TEST_CASE("lessons: a bad file is refused at its line", "[viz][lessons][anomaly]") {
  const auto file = RunFiles::folder() / "bad.toml";
  std::ofstream(file) << "title = \"x\"\ncase = \"y\"\n[[step]]\ncaption = \"z\"\nhighlight = "
                         "[\"carburettor\"]\n[question]\ntext = \"a\"\nanswer = \"b\"\n";
  CHECK_THROWS_WITH(read_lesson(file), Catch::Contains("bad.toml:5") && Catch::Contains("carburettor"));
}

}  // namespace glassbowl::viz
