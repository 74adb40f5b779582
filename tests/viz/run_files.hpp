#pragma once
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <string>
#include <vector>

#include "sim/bike/resolved_case.hpp"
#include "sim/run/run_case.hpp"

namespace glassbowl::viz {

/// Traces that the tests look at: each is computed once per program and removed at its end.
class RunFiles {
 public:
  static const std::filesystem::path& fixed_venturi() {
    static const std::filesystem::path file = compute("bikes/mule_750.toml", "fixed");
    return file;
  }
  static const std::filesystem::path& vacuum_piston() {
    static const std::filesystem::path file = compute("bikes/courier_650.toml", "piston");
    return file;
  }
  /// An engine that idles on its stop.
  static const std::filesystem::path& idle() {
    static const std::filesystem::path file = compute_case(R"(title = "Idle"
base = "bikes/mule_750.toml"
[load]
kind = "neutral"
speed = "1050 1/min"
released = "-2 s"
[run]
settle = "4 s"
duration = "0.6 s"
trace_interval = "0.5 ms"
)",
                                                           "idle");
    return file;
  }
  /// Full throttle with little left in the bowl and the tap shut: it runs lean, then does not fire.
  static const std::filesystem::path& starved() {
    static const std::filesystem::path file = compute_case(R"(title = "Starved"
base = "bikes/mule_750.toml"
[load]
kind = "held_speed"
speed = "3000 1/min"
[rider]
throttle = "100 %"
tap = [["0 s", "100 %"], ["0.05 s", "0 %"]]
[float]
bowl_area = "3 cm2"
float_area = "1.5 cm2"
[run]
settle = "1 s"
duration = "4 s"
trace_interval = "0.5 ms"
)",
                                                           "starved");
    return file;
  }
  static const std::filesystem::path& folder() {
    static const Folder folder;
    return folder.path;
  }

 private:
  struct Folder {
    Folder() : path(std::filesystem::temp_directory_path() / ("glassbowl_viz_" + std::to_string(getpid()))) {
      std::filesystem::create_directories(path);
    }
    ~Folder() {
      std::error_code ignored;
      std::filesystem::remove_all(path, ignored);
    }
    std::filesystem::path path;
  };

  static std::filesystem::path compute(const std::string& bike, const std::string& name) {
    return compute_case("title = \"Opening throttle\"\nbase = \"" + bike + R"("
[load]
kind = "held_speed"
speed = "2500 1/min"
[rider]
throttle = [["0.1 s", "5 %"], ["0.16 s", "60 %"], ["0.4 s", "60 %"], ["0.46 s", "10 %"]]
[run]
settle = "0.6 s"
duration = "0.6 s"
trace_interval = "0.2 ms"
)",
                        name);
  }

  static std::filesystem::path compute_case(const std::string& text, const std::string& name) {
    const std::filesystem::path file = folder() / (name + ".h5");
    const auto resolved = sim::read_case_text(text, name);
    sim::RunRequest request;
    request.trace = file;
    request.force = true;
    sim::run_case(resolved, request);
    return file;
  }
};

}  // namespace glassbowl::viz
