#include "sim/interview/interview.hpp"

#include <catch2/catch.hpp>
#include <sstream>

#include "sim/bike/resolved_case.hpp"

namespace glassbowl::sim {
namespace {

const Question& question(std::string_view key) {
  for (const Question& q : questions())
    if (key == q.key) return q;
  throw std::logic_error(std::string(key));
}

Answers answers(std::string_view key, const std::string& text) {
  const Question& q = question(key);
  const auto reading = q.read(q, text);
  INFO(text << ": " << reading.complaint);
  CHECK(reading.complaint.empty());
  return reading.values;
}

std::string complaint(std::string_view key, const std::string& text) {
  const Question& q = question(key);
  return q.read(q, text).complaint;
}

struct Held {
  Interview interview;
  std::string said;
  bool finished = false;
  int kept = 0;
};

Held hold(const std::string& input, Interview before = {}) {
  Held out;
  out.interview = std::move(before);
  std::istringstream in(input);
  out.finished = hold_interview(
      out.interview, in, [&](const std::string& text) { out.said += text; },
      [&](const Interview&) { ++out.kept; });
  return out;
}

std::string value_of(const Interview& interview, const std::string& key) {
  for (const auto& [path, value] : interview.answers)
    if (path == key) return value;
  return "(none)";
}

}  // namespace

TEST_CASE("interview: answers in workshop terms become keys with units", "[sim][interview]") {
  using A = Answers;
  CHECK(answers("engine.displacement", "850 cc") == A{{"engine.displacement", "\"850 cm3\""}});
  CHECK(answers("engine.bore", "78") == A{{"engine.bore", "\"78 mm\""}});
  CHECK(answers("engine.bore", "3 1/16 in") == A{{"engine.bore", "\"3 1/16 in\""}});
  CHECK(answers("engine.firing", "360") == A{{"engine.firing", "[\"0 deg\", \"360 deg\"]"}});
  CHECK(answers("engine.firing", "0, 408") == A{{"engine.firing", "[\"0 deg\", \"408 deg\"]"}});
  CHECK(answers("carburetor.main.jet.bore", "1.50 mm") == A{{"carburetor.main.jet.bore", "\"1.50 mm\""}});
  CHECK(answers("carburetor.main.jet.bore", "150 cc/min at 500") ==
        A{{"carburetor.main.jet.flow_rating", "\"150 cm3/min\""},
          {"carburetor.main.jet.flow_head", "\"500 mm\""}});
  CHECK(answers("carburetor.needle.raised", "4 of 5") == A{{"carburetor.needle.raised", "\"1 mm\""}});
  CHECK(answers("carburetor.screw.turns", "best") == A{{"best_idle", "true"}});
  CHECK(answers("float.level", "height 15") == A{{"float.height", "\"15 mm\""}});
  CHECK(answers("engine.intake.opens_before_top", "22/54/54/22").size() == 4);
  CHECK(answers("engine.combustion.advance", "10 at 1000, 33 at 3500") ==
        A{{"engine.combustion.advance", "[[\"1000 rpm\", \"10 deg\"], [\"3500 rpm\", \"33 deg\"]]"}});
}

TEST_CASE("interview: the example of every question is an answer to it", "[sim][interview]") {
  for (const Question& q : questions()) {
    // Two examples are joined by "or".
    std::string text = q.example;
    text = text.substr(0, text.find(", or "));
    INFO(q.title);
    CHECK(q.read(q, text).complaint.empty());
  }
}

TEST_CASE("interview: nonsense gets one clear complaint with what would do", "[sim][interview]") {
  CHECK_THAT(complaint("engine.bore", "banana"), Catch::Contains("does not begin with a number"));
  CHECK_THAT(complaint("engine.bore", "2 l"), Catch::Contains("is a volume") && Catch::Contains("mm"));
  CHECK_THAT(complaint("engine.bore", "900 mm"), Catch::Contains("130 mm"));
  CHECK_THAT(complaint("carburetor.main.jet.bore", "150"), Catch::Contains("no bore by itself"));
  CHECK_THAT(complaint("engine.intake.opens_before_top", "20/55"), Catch::Contains("four are needed"));
  CHECK_THAT(complaint("carburetor.kind", "blue"), Catch::Contains("fixed"));
  CHECK_THAT(complaint("carburetor.needle.raised", "7 of 5"), Catch::Contains("3 of 5"));
  CHECK_FALSE(complaint("engine.cylinders", "-3").empty());
}

TEST_CASE("interview: what is not known is assumed at once, with rule and spread", "[sim][interview]") {
  const Held held = hold("650 cc\n2\neven\nfixed\n36\n?\n");
  CHECK_FALSE(held.finished);
  CHECK_THAT(held.said, Catch::Contains("Assumed: 29.52 mm +- 6 %: 0.82 of the bore"));
  CHECK(held.interview.unknown.contains("carburetor.venturi.diameter"));
  CHECK(held.kept == 6);
}

TEST_CASE("interview: a wrong answer is asked for again, once, and nothing of it is kept",
          "[sim][interview]") {
  const Held held = hold("nonsense\n850\n");
  const auto first = held.said.find("1 of"), second = held.said.find("1 of", first + 1);
  CHECK(second != std::string::npos);
  CHECK(held.said.find("1 of", second + 1) == std::string::npos);
  CHECK(value_of(held.interview, "engine.displacement") == "\"850 cm3\"");
  CHECK(held.interview.answers.size() == 1);
}

TEST_CASE("interview: a needed size cannot be left open, and one without it is asked for instead",
          "[sim][interview]") {
  CHECK_THAT(hold("850\n?\n").said, Catch::Contains("This one is needed"));
}

TEST_CASE("interview: one that was stopped goes on with the first question that is open",
          "[sim][interview]") {
  const Held first = hold("850\n2\neven\nstop\n");
  CHECK_FALSE(first.finished);
  const Held second = hold("fixed\n", Interview::read(first.interview.text(), "kept"));
  CHECK(second.said.find("Displacement") == std::string::npos);
  CHECK(second.said.find("Firing") == std::string::npos);
  CHECK(value_of(second.interview, "engine.displacement") == "\"850 cm3\"");
  CHECK(value_of(second.interview, "carburetor.kind") == "\"fixed_venturi\"");
}

TEST_CASE("interview: back asks the last question again", "[sim][interview]") {
  const Held held = hold("850\nback\n750\n2\n");
  CHECK(value_of(held.interview, "engine.displacement") == "\"750 cm3\"");
  CHECK(value_of(held.interview, "engine.cylinders") == "2");
}

TEST_CASE("interview: with nothing but what is needed it ends in a sound case", "[sim][interview]") {
  std::string input = "850\n2\n";
  for (int i = 0; i < 60; ++i) input += "don't know\n";
  const Held held = hold(input);
  CHECK(held.finished);
  const ResolvedCase bike =
      read_case_text(held.interview.text(), "answers",
                     {"load.kind=held_speed", "load.speed=3000 rpm", "run.duration=1 s", "estimate=true"});
  CHECK(bike.bike.engine.firing.size() == 2);
}

}  // namespace glassbowl::sim
