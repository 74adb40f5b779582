#pragma once
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "sim/bike/known_values.hpp"

namespace glassbowl::sim {

/// A key and its value, TOML.
using Answer = std::pair<std::string, std::string>;
using Answers = std::vector<Answer>;

/// What came of reading an answer: values of keys, or what is wrong and what would do.
struct AnswerReading {
  Answers values;
  std::string complaint;  ///< empty when all is well
};

/// One question of the interview.
struct Question {
  const char* key;    ///< whose assumption is shown where the answer is not known; the first that it sets
  const char* title;  ///< "Cylinder bore"
  const char* how;    ///< where to measure, with what
  const char* example;
  AnswerReading (*read)(const Question& question, const std::string& text);
  bool (*asked)(const KnownValues& known) = nullptr;   ///< null: always
  bool (*needed)(const KnownValues& known) = nullptr;  ///< null: never; others may be left open
};

/// In the order of the interview: what matters most comes first.
const std::vector<Question>& questions();

/// Whether the answer says that the size is not known.
bool not_known(std::string_view text);

/// What is wrong with a value of a declared key, or empty.
std::string complaint_about(std::string_view key, const std::string& value);

}  // namespace glassbowl::sim
