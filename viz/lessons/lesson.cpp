#include "viz/lessons/lesson.hpp"

#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>
#include <map>

#include "sim/api/error.hpp"

namespace glassbowl::viz {
namespace {

[[noreturn]] void refuse(const std::filesystem::path& file, const toml::node* node, const std::string& text) {
  const auto line = node != nullptr ? node->source().begin.line : 1;
  throw sim::Error(sim::ErrorKind::case_file, fmt::format("{}:{}: {}", file.string(), line, text));
}

template <class Choice>
Choice choose(const std::filesystem::path& file, const toml::table& table, const char* key, Choice fallback,
              const std::map<std::string, Choice>& choices) {
  const toml::node* node = table.get(key);
  if (node == nullptr) return fallback;
  const auto at = choices.find(node->value_or(std::string()));
  if (at != choices.end()) return at->second;
  std::string list;
  for (const auto& [name, value] : choices) list += (list.empty() ? "" : ", ") + name;
  refuse(file, node, fmt::format("{} is none of {}", key, list));
}

std::string text(const std::filesystem::path& file, const toml::table& table, const char* key) {
  const toml::node* node = table.get(key);
  if (node == nullptr || !node->is_string())
    refuse(file, node != nullptr ? node : &table, fmt::format("{} must be a text in quotes", key));
  return node->value_or(std::string());
}

double number(const std::filesystem::path& file, const toml::table& table, const char* key, double fallback,
              double low, double high) {
  const toml::node* node = table.get(key);
  if (node == nullptr) return fallback;
  const auto value = node->value<double>();
  if (!value || *value < low || *value > high)
    refuse(file, node, fmt::format("{} must be a number from {} to {}", key, low, high));
  return *value;
}

void only(const std::filesystem::path& file, const toml::table& table,
          std::initializer_list<const char*> known) {
  for (const auto& [key, node] : table) {
    const std::string name(key.str());
    if (std::none_of(known.begin(), known.end(), [&](const char* k) { return name == k; }))
      refuse(file, &node, fmt::format("{} means nothing here", name));
  }
}

const std::map<std::string, Event> events{{"start", Event::start},
                                          {"end", Event::end},
                                          {"throttle_moves", Event::throttle_moves},
                                          {"throttle_stops", Event::throttle_stops}};
const std::map<std::string, Measure> measures{{"greatest", Measure::greatest},
                                              {"least", Measure::least},
                                              {"mean", Measure::mean},
                                              {"delay", Measure::delay},
                                              {"at_event", Measure::at_event}};

LessonStep read_step(const std::filesystem::path& file, const toml::table& table) {
  only(file, table, {"caption", "highlight", "event", "after", "span", "rate"});
  LessonStep step;
  step.caption = text(file, table, "caption");
  if (const auto* parts = table.get_as<toml::array>("highlight"))
    for (const auto& node : *parts) {
      const std::string name = node.value_or(std::string());
      const Part part = part_named(name);
      if (part == Part::none) refuse(file, &node, fmt::format("\"{}\" is no part of the drawing", name));
      step.highlight.push_back(part);
    }
  step.event = choose(file, table, "event", Event::start, events);
  step.after = number(file, table, "after", 0.0, -1e4, 1e4);
  step.span = number(file, table, "span", 0.1, 1e-4, 1e4);
  step.rate = number(file, table, "rate", 0.02, 1.0 / 2000.0, 1.0);
  return step;
}

LessonValue read_value(const std::filesystem::path& file, const toml::table& table) {
  only(file, table, {"name", "measure", "channel", "event", "after", "span", "level"});
  LessonValue value;
  value.name = text(file, table, "name");
  value.channel = text(file, table, "channel");
  value.measure = choose(file, table, "measure", Measure::greatest, measures);
  value.event = choose(file, table, "event", Event::start, events);
  value.after = number(file, table, "after", 0.0, -1e4, 1e4);
  value.span = number(file, table, "span", 1e9, 0.0, 1e9);
  value.level = number(file, table, "level", 0.5, 0.01, 1.0);
  return value;
}

LessonCondition read_condition(const std::filesystem::path& file, const toml::table& table) {
  only(file, table, {"channel", "low", "high", "spread", "least_spread", "why"});
  LessonCondition condition;
  condition.channel = text(file, table, "channel");
  condition.why = text(file, table, "why");
  condition.low = number(file, table, "low", condition.low, -1e9, 1e9);
  condition.high = number(file, table, "high", condition.high, -1e9, 1e9);
  condition.least_spread = number(file, table, "least_spread", 0.0, 0.0, 1e9);
  condition.spread = number(file, table, "spread", condition.spread, 0.0, 1e9);
  return condition;
}

template <class Each>
void each_table(const std::filesystem::path& file, const toml::table& from, const char* key, Each each) {
  const auto* array = from.get_as<toml::array>(key);
  if (array == nullptr || array->empty()) refuse(file, &from, fmt::format("[[{}]] is missing", key));
  for (const auto& node : *array) {
    if (!node.is_table()) refuse(file, &node, fmt::format("{} must be a table", key));
    each(*node.as_table());
  }
}

}  // namespace

Lesson read_lesson(const std::filesystem::path& file) {
  toml::table table;
  try {
    table = toml::parse_file(file.string());
  } catch (const toml::parse_error& error) {
    throw sim::Error(
        sim::ErrorKind::case_file,
        fmt::format("{}:{}: {}", file.string(), error.source().begin.line, std::string(error.description())));
  }
  only(file, table, {"invented", "title", "case", "needs", "varies", "fits", "strips", "step", "question"});
  Lesson lesson;
  lesson.file = file;
  lesson.title = text(file, table, "title");
  lesson.case_name = text(file, table, "case");
  lesson.run = fmt::format("glassbowl run {0} -o {0}.h5", lesson.case_name);
  for (auto [key, list] :
       {std::pair{"needs", &lesson.needs}, {"varies", &lesson.varies}, {"strips", &lesson.strips}})
    if (const auto* names = table.get_as<toml::array>(key))
      for (const auto& node : *names) list->push_back(node.value_or(std::string()));
  if (table.contains("fits"))
    each_table(file, table, "fits",
               [&](const toml::table& each) { lesson.fits.push_back(read_condition(file, each)); });
  each_table(file, table, "step",
             [&](const toml::table& step) { lesson.steps.push_back(read_step(file, step)); });
  const auto* question = table.get_as<toml::table>("question");
  if (question == nullptr) refuse(file, &table, "[question] is missing");
  only(file, *question, {"text", "answer", "value"});
  lesson.question = text(file, *question, "text");
  lesson.answer = text(file, *question, "answer");
  each_table(file, *question, "value", [&](const toml::table& value) {
    lesson.values.push_back(read_value(file, value));
    if (lesson.answer.find("{" + lesson.values.back().name + "}") == std::string::npos)
      refuse(file, &value, fmt::format("the answer has no mark {{{}}}", lesson.values.back().name));
  });
  return lesson;
}

std::vector<Lesson> read_lessons(const std::filesystem::path& folder, std::vector<std::string>& problems) {
  std::vector<std::filesystem::path> files;
  std::error_code failure;
  for (const auto& entry : std::filesystem::directory_iterator(folder, failure))
    if (entry.path().extension() == ".toml") files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  std::vector<Lesson> out;
  for (const auto& file : files) try {
      out.push_back(read_lesson(file));
    } catch (const sim::Error& error) {
      problems.emplace_back(error.what());
    }
  return out;
}

}  // namespace glassbowl::viz
