#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <iostream>
#include <iterator>
#include <sstream>

#include "sim/validation/check.hpp"

using namespace glassbowl::validation;

namespace {

/// The rows of all checks, computed once.
const std::vector<Row>& all_rows() {
  static const std::vector<Row> rows = run_all_checks();
  return rows;
}

}  // namespace

TEST_CASE("published: every comparison holds or is a stated disagreement", "[published]") {
  const auto& rows = all_rows();
  std::cout << format_table(rows) << std::flush;
  for (const Row& row : rows) {
    INFO(row.part << ": " << row.what << " | " << source_text(row) << " | published " << row.published
                  << ", computed " << row.computed << ", allowed " << row.tolerance.size << " because of "
                  << row.tolerance.why);
    const Verdict v = verdict(row);
    CHECK(v != Verdict::fails);
    CHECK(v != Verdict::statement_outdated);
  }
}

TEST_CASE("published: comparisons are many, from many works, and each is documented", "[published]") {
  const auto& rows = all_rows();
  const Summary s = summarise(rows);
  CHECK(s.rows >= 60);
  CHECK(s.works >= 12);
  for (const Row& row : rows) {
    INFO(row.part << ": " << row.what);
    CHECK_FALSE(row.part.empty());
    CHECK_FALSE(row.unit.empty());
    CHECK_FALSE(row.tolerance.why.empty());
    CHECK(row.tolerance.size > 0.0);
    CHECK_FALSE(source_text(row).empty());
    if (!row.disagreement.cause.empty()) CHECK(row.disagreement.limit > row.tolerance.size);
  }
}

TEST_CASE("published: the summary has a line per part, and each disagreement with its cause", "[published]") {
  const Row held{"bowl", "level", {"a work", "p. 1", Seen::in_source}, 2.0, 2.001, relative(1e-3, "digits"),
                 "mm",   {}};
  Row stated = held;
  stated.what = "overflow";
  stated.computed = 2.004;
  stated.disagreement = {"the source leaves out the vent", 3e-3};
  Row failed = held;
  failed.part = "jet";
  failed.what = "discharge";
  failed.computed = 2.1;
  const std::string text = format_summary({held, stated, failed});
  INFO(text);
  CHECK_THAT(text,
             Catch::StartsWith("3 comparisons against 1 published works: 1 hold, 1 disagree as stated"));
  std::vector<std::vector<std::string>> lines;
  std::istringstream all(text);
  for (std::string line; std::getline(all, line);) {
    CHECK(line.size() <= 100);
    std::istringstream words(line);
    lines.emplace_back(std::istream_iterator<std::string>(words), std::istream_iterator<std::string>());
  }
  const auto has = [&](const std::vector<std::string>& wanted) {
    return std::find(lines.begin(), lines.end(), wanted) != lines.end();
  };
  CHECK(has({"bowl", "2", "1", "1", "0", "2.00"}));
  CHECK(has({"jet", "1", "0", "0", "1", "50.00"}));
  CHECK(has({"total", "3", "1", "1", "1", "50.00"}));
  CHECK_THAT(text, Catch::Contains("likely cause: the source leaves out the vent") &&
                       Catch::Contains("jet: discharge\n") && Catch::Contains("FAILS") &&
                       !Catch::Contains("bowl: level"));
  CHECK_THAT(format_table({held, stated, failed}), Catch::Contains("bowl: level"));
}

TEST_CASE("published: a wrong value, a missing number and an exceeded statement all fail", "[published]") {
  Row row{"part", "what", {"work", "place", Seen::in_source}, 2.0, 2.001, relative(1e-3, "digits"), "-", {}};
  CHECK(verdict(row) == Verdict::holds);
  row.computed = 2.003;
  CHECK(verdict(row) == Verdict::fails);
  row.disagreement = {"known cause", 2e-3};
  CHECK(verdict(row) == Verdict::disagrees_as_stated);
  row.computed = 2.01;
  CHECK(verdict(row) == Verdict::fails);
  row.computed = 2.0;
  CHECK(verdict(row) == Verdict::statement_outdated);
  row.computed = std::nan("");
  CHECK(verdict(row) == Verdict::fails);
  CHECK(json_rows({row}).find("\"computed\": null") != std::string::npos);
  CHECK(json_rows({row}).find("\"held\": false") != std::string::npos);
}
