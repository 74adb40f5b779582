#pragma once
#include <functional>
#include <string>
#include <utility>
#include <vector>

/// Checks of the shipped physics against sources outside the project. A check calls the program's own
/// functions with a source's givens and lays the two numbers side by side; it holds no formula of its own
/// beyond what the source gives as data.
namespace glassbowl::validation {

/// How the published value was obtained.
enum class Seen {
  in_source,        ///< read in the source, or in a public copy or companion of it
  from_memory,      ///< remembered; not looked up
  computed,         ///< worked out from the source's formula (remembered), apart from the program
  computed_seen,    ///< worked out from the source's formula (seen), apart from the program
  derived,          ///< follows from a standard law; no publication claimed
  common_practice,  ///< a rule of the trade without a published source
};

/// Where a published value comes from. `work` names the document, so that works can be counted;
/// `place` the table, equation, page or condition.
struct Source {
  std::string work;
  std::string place;
  Seen seen = Seen::from_memory;
};

/// How far computed and published may differ, and why that far.
struct Tolerance {
  double size = 0.0;
  bool relative = false;
  std::string why;
};
inline Tolerance relative(double size, std::string why) {
  return {size, true, std::move(why)};
}
inline Tolerance absolute(double size, std::string why) {
  return {size, false, std::move(why)};
}

/// A difference that is known and stated: its likely cause, and the size (in the tolerance's terms) that
/// it must not exceed. A row that differs by more fails; one that holds after all must lose its statement.
struct Disagreement {
  std::string cause;
  double limit = 0.0;
};

/// A disagreement for those rows of a loop that it concerns.
inline Disagreement stated_if(bool concerned, std::string cause, double limit) {
  return concerned ? Disagreement{std::move(cause), limit} : Disagreement{};
}

struct Row {
  std::string part;  ///< part of the model, named as its header, or kind of run
  std::string what;
  Source source;
  double published = 0.0;
  double computed = 0.0;
  Tolerance tolerance;
  std::string unit;  ///< "-" for none
  Disagreement disagreement;
};

enum class Verdict { holds, disagrees_as_stated, statement_outdated, fails };

/// Computed less published, in the terms of the tolerance.
double difference(const Row& row);
Verdict verdict(const Row& row);
std::string source_text(const Row& row);

/// A published range low..high as the middle and half of the width.
struct Range {
  double middle;
  Tolerance tolerance;
};
Range in_range(double low, double high);

using Checks = void (*)(std::vector<Row>&);

/// Rows of the topics that need the models alone.
std::vector<Row> run_part_checks();

/// Rows of every topic, in the order of topics.hpp and engine_topics.hpp. `progress` is told the share done,
/// 0 to 1, and the seconds it took. Throws what the reader or the solver throws.
std::vector<Row> run_all_checks(const std::function<void(double, double)>& progress = {});

struct Summary {
  int rows = 0;
  int held = 0;
  int disagree_as_stated = 0;
  int outdated = 0;
  int failed = 0;
  int works = 0;  ///< distinct documents outside the project; rules of the trade and derivations not counted
};
Summary summarise(const std::vector<Row>& rows);

/// For reading: a total, one line per part, and each disagreement with its numbers, source and cause.
std::string format_summary(const std::vector<Row>& rows);

/// Table of all rows, followed by the reasons of tolerances and the summary.
std::string format_table(const std::vector<Row>& rows);

/// JSON array of objects with keys part, what, source, published, computed, difference, tolerance,
/// tolerance_kind, tolerance_reason, unit, verdict, held, disagreement.
std::string json_rows(const std::vector<Row>& rows);

}  // namespace glassbowl::validation
