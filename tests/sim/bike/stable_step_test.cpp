#include <catch2/catch.hpp>

#include "sim/api/error.hpp"
#include "sim/bike/resolved_case.hpp"

using namespace glassbowl::sim;

namespace {

/// What reading a bike with a runner of 100 mm says; empty if it is read.
std::string complaint(const std::vector<std::string>& sets) {
  const std::string text =
      "base = \"bikes/mule_750.toml\"\nload.kind = \"held_speed\"\nload.speed = \"3000 1/min\"\n"
      "rider.throttle = \"30 %\"\nrun.duration = \"1 s\"\nrunner.length = \"100 mm\"\n";
  try {
    read_case_text(text, "step", sets);
    return {};
  } catch (const Error& error) {
    return error.what();
  }
}

}  // namespace

TEST_CASE("step: cells too short for it are refused, with what would do", "[sim][cases][anomaly]") {
  const std::string words = complaint({"runner.cells=50"});
  CHECK(words.find("[runner] cells = 50") != std::string::npos);
  CHECK(words.find("at most 5 cells, a run.step of at most 5 us") != std::string::npos);
  // Each of the ways named does.
  CHECK(complaint({"runner.cells=5"}).empty());
  CHECK(complaint({"runner.cells=50", "run.step=5 us"}).empty());
  CHECK(complaint({"runner.cells=50", "run.method=error_controlled"}).empty());
  // A runner too short for one cell leaves the step alone to change.
  CHECK(complaint({"runner.length=5 mm"}).find("at most 0 cells") == std::string::npos);
}

TEST_CASE("step: one much longer than the shortest response is refused", "[sim][cases][anomaly]") {
  const std::string words = complaint({"numerics.response=5 us"});
  CHECK(words.find("[numerics] response = 5 us") != std::string::npos);
  CHECK(complaint({"numerics.response=5 us", "run.step=10 us"}).empty());
}
