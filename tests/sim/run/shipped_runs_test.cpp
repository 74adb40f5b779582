#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <sstream>

#include "sim/cases/find_case.hpp"
#include "sim/cases/layers.hpp"
#include "sim/run/run_case.hpp"

/// What the shipped texts say of figures of the shipped runs, against the runs.
namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

constexpr double rounded_to =
    0.015;                      // [-] lambda said with two decimals, and half a step of a model's change
constexpr double about = 0.01;  // of a speed

std::string text_of(const fs::path& file) {
  std::ostringstream out;
  out << std::ifstream(file).rdbuf();
  return out.str();
}

const Summary& run_of(const std::string& name) {
  static std::map<std::string, Summary> done;
  const auto found = done.find(name);
  return found != done.end() ? found->second
                             : done.emplace(name, run_case(read_case(find_case(name)), {})).first->second;
}

double number(std::string text) {
  std::erase(text, ',');
  return std::stod(text);
}

double per_minute(double speed) {
  return speed * 30.0 / 3.14159265358979;
}

/// Checks the claims of `text` about a run and gives their number.
int check_claims(const std::string& text, const std::string& name) {
  int claims = 0;
  INFO(name << ": " << text);
  std::smatch found;
  const auto says = [&](const char* pattern) {
    const bool there = std::regex_search(text, found, std::regex(pattern));
    claims += there;
    return there;
  };
  if (says("in-cylinder lambda between ([0-9.]+) and ([0-9.]+)\\. ")) {
    CHECK(run_of(name).lambda.lowest == Approx(number(found[1])).margin(rounded_to).epsilon(0));
    CHECK(run_of(name).lambda.highest == Approx(number(found[2])).margin(rounded_to).epsilon(0));
  }
  if (says("about ([0-9,]+) rpm and in-cylinder lambda near ([0-9.]+)\\. ")) {
    CHECK(per_minute(run_of(name).speed) == Approx(number(found[1])).epsilon(about));
    CHECK(run_of(name).lambda.mean == Approx(number(found[2])).margin(rounded_to).epsilon(0));
  }
  if (says("from ([0-9,]+) to ([0-9,]+) rpm")) {
    CHECK(per_minute(run_of(name).cycle_speed.lowest) == Approx(number(found[1])).epsilon(about));
    CHECK(per_minute(run_of(name).cycle_speed.highest) == Approx(number(found[2])).epsilon(about));
  } else if (says("from ([0-9,]+) rpm")) {
    CHECK(per_minute(run_of(name).cycle_speed.lowest) == Approx(number(found[1])).epsilon(about));
  } else if (says("(?:at ([0-9,]+) rpm|([0-9,]+) rpm held)")) {
    const double said = number(found[1].matched ? found[1] : found[2]);
    CHECK(per_minute(run_of(name).cycle_speed.lowest) == Approx(said).epsilon(about));
    CHECK(per_minute(run_of(name).cycle_speed.highest) == Approx(said).epsilon(about));
  }
  return claims;
}

}  // namespace

TEST_CASE("shipped runs: what their files say of lambda and speed is what they give", "[sim][run]") {
  int claims = 0;
  for (const auto& entry : fs::directory_iterator(fs::path(shipped_cases()) / "runs")) {
    const std::string name = entry.path().stem().string(), text = text_of(entry.path());
    // Comments may run over several lines.
    const auto one_line = std::regex_replace(text.substr(0, text.find("base =")), std::regex("\n# ?"), " ");
    claims += check_claims(one_line, name);
    CHECK(text.find("lambda stays") == std::string::npos);  // said in words that are checked above
  }
  CHECK(claims >= 10);
}

TEST_CASE("shipped runs: what the tables of runs say of speed is what they give", "[sim][run]") {
  for (const auto& page :
       {fs::path(shipped_cases()) / "README.md", fs::path(shipped_cases()).parent_path() / "README.md"}) {
    int claims = 0;
    std::istringstream lines(text_of(page));
    const std::regex row("\\| `([a-z_]+)`[^|]*\\|([^|]*)\\|");
    for (std::string line; std::getline(lines, line);) {
      std::smatch found;
      if (!std::regex_match(line, found, row)) continue;
      const std::string name = found[1];
      if (fs::exists(fs::path(shipped_cases()) / "runs" / (name + ".toml")))
        claims += check_claims(found[2], name);
    }
    INFO(page);
    CHECK(claims >= 2);
  }
}

}  // namespace glassbowl::sim
