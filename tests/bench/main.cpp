#include <fmt/format.h>

#include <exception>
#include <nlohmann/json.hpp>
#include <string_view>

#include "tests/bench/figures.hpp"

/// glassbowl-bench [--json]: measures all figures of speed and prints one table.
namespace {

using namespace glassbowl::bench;

void print_json(const Figures& figures) {
  auto rows = nlohmann::json::array();
  for (const auto& f : figures)
    rows.push_back({{"figure", f.name}, {"value", f.value}, {"goal", f.goal}, {"held", f.held()}});
  fmt::print("{}\n", rows.dump(2));
}

void print_row(const Figure& f) {
  const char* sign = f.kind == Figure::Goal::at_least ? ">= " : f.kind == Figure::Goal::at_most ? "<= " : "";
  const char* width = f.kind == Figure::Goal::within_0_05 ? " +-0.05" : "";
  fmt::print("{:<66} {:>7.3g}   {:<11} {}\n", f.name, f.value, fmt::format("{}{:.3g}{}", sign, f.goal, width),
             f.held() ? "held" : "not held");
  if (!f.note.empty()) fmt::print("    {}\n", f.note);
}

}  // namespace

int main(int count, char** arguments) try {
  const bool json = count == 2 && arguments[1] == std::string_view("--json");
  if (count > 1 && !json) {
    fmt::print(stderr, "glassbowl-bench: it takes --json or nothing; given was \"{}\"\n",
               fmt::join(arguments + 1, arguments + count, " "));
    return 2;
  }
  if (!json) fmt::print("{:<66} {:>7}   {}\n", "figure", "value", "goal");
  Figures figures;
  for (const auto measure :
       {memory, single_run, lanes, dispatch, integrators, linearity, maps, drawn_bikes, steady_cycles}) {
    const auto before = figures.size();
    measure(figures);
    for (auto i = before; i < figures.size() && !json; ++i) print_row(figures[i]);
    std::fflush(stdout);
  }
  if (json) print_json(figures);
  return 0;
} catch (const std::exception& failure) {
  fmt::print(stderr, "glassbowl-bench: {}\n", failure.what());
  return 1;
}
