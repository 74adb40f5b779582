#pragma once
#include <atomic>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

namespace glassbowl::sim {

/// A case that comes with the program.
struct ShippedCase {
  std::string name;   ///< as `--live` takes it: "blip", "bikes/mule_750"
  std::string title;  ///< its title or its first comment
};

/// Rides and bikes that come with the program, by name.
std::vector<ShippedCase> shipped_rides();
std::vector<ShippedCase> shipped_bikes();

/// Whether a file is a trace, by its first bytes; what is none is read as a case.
bool is_trace_file(const std::filesystem::path& file);

/// A case computed in a thread of its own, to a trace.
class BackgroundRun {
 public:
  /// `given` and `sets` as LiveBench takes them.
  BackgroundRun(std::string given, std::filesystem::path trace, std::vector<std::string> sets = {});
  ~BackgroundRun();  ///< a run that still goes on is stopped
  BackgroundRun(const BackgroundRun&) = delete;
  BackgroundRun& operator=(const BackgroundRun&) = delete;

  const std::filesystem::path& trace() const;
  double done() const;  ///< 0 .. 1
  bool finished() const;
  /// Why it failed; empty if it has not.
  std::string problem() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace glassbowl::sim
