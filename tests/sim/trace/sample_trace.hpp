#pragma once

#include <unistd.h>

#include <array>
#include <cmath>
#include <filesystem>
#include <string>
#include <utility>
#include <vector>

#include "sim/trace/trace_writer.hpp"

namespace glassbowl::sim::test {

/// A folder of its own for one test, gone afterwards.
class ScratchFolder {
 public:
  ScratchFolder() {
    std::string name = (std::filesystem::temp_directory_path() / "glassbowl_trace_XXXXXX").string();
    path_ = ::mkdtemp(name.data());
  }
  ~ScratchFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  ScratchFolder(const ScratchFolder&) = delete;
  ScratchFolder& operator=(const ScratchFolder&) = delete;

  std::filesystem::path operator/(const char* name) const { return path_ / name; }
  const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

inline TraceHeader sample_header() {
  return {"Invented trial run", "0.0-test", "[engine]\nbore = \"70 mm\"  # Ø, ρ\n"};
}

inline TracePlan sample_plan(std::size_t rows, std::size_t cycles) {
  TracePlan plan;
  plan.time_channels = {
      {"manifold_pressure", "Pa", "absolute pressure in the manifold", "manifold"},
      {"crank_angle", "degree", "crank angle from firing top dead centre", "crankshaft", true},
      {"main_flow", "kg s-1", "fuel through the main nozzle", "main_circuit"},
  };
  plan.cycle_channels = {{"lambda", "1", "trapped lambda", "cylinder_1"},
                         {"torque", "N m", "mean torque", "crankshaft"}};
  plan.summary = {"mean_lambda"};
  plan.expected_rows = rows;
  plan.expected_cycles = cycles;
  return plan;
}

inline double sample_time(std::size_t row) {
  return static_cast<double>(row) * 1e-4;
}

/// Values that say which row and channel they belong to. All but the second fit float32 exactly.
inline std::array<double, 3> sample_row(std::size_t row) {
  const auto number = static_cast<double>(row);
  return {1e5 + number, number + 0.1, -number};
}

inline std::array<double, 2> sample_cycle(std::size_t cycle) {
  return {1.0 + 0.25 * static_cast<double>(cycle % 4), static_cast<double>(cycle)};
}

/// Rows [first, end), and a cycle row after every hundredth.
inline void write_rows(TraceWriter& writer, std::size_t first, std::size_t end) {
  for (std::size_t row = first; row < end; ++row) {
    writer.time_row(sample_time(row), sample_row(row));
    if (row % 100 == 99) writer.cycle_row(static_cast<double>(row / 100), sample_cycle(row / 100));
  }
}

inline const std::vector<std::pair<std::string, double>> sample_summary{{"mean_lambda", 1.0625}};

}  // namespace glassbowl::sim::test
