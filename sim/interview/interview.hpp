#pragma once
#include <functional>
#include <istream>
#include <set>
#include <string>

#include "sim/interview/question.hpp"

namespace glassbowl::sim {

/// What was answered so far.
struct Interview {
  Answers answers;                ///< in the order in which they were given, each key once
  std::set<std::string> unknown;  ///< keys of questions that nobody could answer

  void set(const Answer& answer);
  bool answered(const Question& question) const;
  /// As a case, whose comments name what is not known. It can be read back, and given as --answers.
  std::string text() const;
  /// Reads what `text` wrote; Error{case_file} where it is no TOML.
  static Interview read(const std::string& text, const std::string& name);
};

/// What is assumed for a key, with the rule, after these answers: "38.2 mm +- 8 %: 0.49 bores (...)". Empty
/// where nothing is.
std::string assumption(const Interview& interview, const std::string& key);

/// Asks all that is not answered yet. Each answer is checked at once, a wrong one asked for again; `keep` is
/// called after each. False where the input ends before the questions do.
bool hold_interview(Interview& interview, std::istream& in,
                    const std::function<void(const std::string&)>& say,
                    const std::function<void(const Interview&)>& keep);

}  // namespace glassbowl::sim
