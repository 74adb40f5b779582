#pragma once
#include <atomic>
#include <string>
#include <vector>

/// What the program's subcommands do. Each returns an exit code and throws sim::Error.
namespace glassbowl::sim {

struct RunOptions {
  std::string source;  // case, name of a shipped run, or trace
  std::vector<std::string> sets;
  std::string output, csv;
  bool force = false, no_trace = false, json = false, no_sensitivity = false;
};

struct CheckOptions {
  std::string source;
  std::vector<std::string> sets;
  bool no_computation = false, every_value = false, json = false;
};

struct NewOptions {
  std::string output, answers;
  std::vector<std::string> sets;
  bool force = false, no_computation = false;
};

struct MeasureOptions {
  std::string source, output;
  std::vector<std::string> sets;
  unsigned threads = 0;
  bool force = false, pdf = false;
};

struct ListOptions {
  std::string what, source;
  bool schema = false;
};

struct VerifyOptions {
  bool json = false, all = false;
};

int run_command(const RunOptions& options, const std::atomic<bool>& stop);
int check_command(const CheckOptions& options);
/// Describes a bike by an interview, or from a file of answers.
int new_command(const NewOptions& options);
/// Prints what to measure first, with a drawing of each place.
int measure_command(const MeasureOptions& options, const std::atomic<bool>& stop);
int list_command(const ListOptions& options);
/// Compares the program with published sources; 1 when a comparison neither holds nor disagrees as stated.
int verify_command(const VerifyOptions& options);

}  // namespace glassbowl::sim
