#include <fmt/format.h>

#include <atomic>
#include <chrono>
#include <cstdlib>
#include <ctime>
#include <map>
#include <regex>
#include <string>
#include <thread>

#include "tests/hardening/random_case.hpp"

// random_cases [COUNT [FIRST_SEED]]: draws that many bikes, runs each for a moment, prints figures; exit code
// 1 if one fails. The shrunk cases are printed as they would stand in a case file.
namespace {

using namespace glassbowl::hardening;

// [s] for one case; beyond it hangs. Eight cylinders with 64 cells each, error-controlled, take 60.
constexpr double longest = 300.0;

/// Ends the program if one case takes too long: a hang is a failure that cannot be caught otherwise.
class Watchdog {
 public:
  void begin(std::uint64_t seed) {
    seed_ = seed;
    since_ = now();
  }
  Watchdog()
      : thread_([this] {
          while (!done_) {
            std::this_thread::sleep_for(std::chrono::milliseconds(200));
            if (now() - since_ < longest || done_) continue;
            fmt::print("seed {} hangs:\n{}\n", seed_.load(), draw_case(seed_).text());
            std::fflush(stdout);
            std::_Exit(1);
          }
        }) {}
  ~Watchdog() {
    done_ = true;
    thread_.join();
  }

 private:
  static double now() {
    // Of the processor: other programs may keep us waiting.
    return static_cast<double>(std::clock()) / CLOCKS_PER_SEC;
  }
  std::atomic<std::uint64_t> seed_{0};
  std::atomic<double> since_{now()};
  std::atomic<bool> done_{false};
  std::thread thread_;
};

/// Words without their numbers, so that like ones can be counted.
std::string class_of(const std::string& words) {
  static const std::regex numbers("-?[0-9]+(\\.[0-9]+)?(e[+-]?[0-9]+)?");
  static const std::regex places("(: |; largest errors in ).*");
  std::string text = std::regex_replace(words, numbers, "#");
  return text.substr(0, 160);
}

}  // namespace

int main(int argc, char** argv) {
  const std::uint64_t count = argc > 1 ? std::strtoull(argv[1], nullptr, 10) : 300;
  const std::uint64_t first = argc > 2 ? std::strtoull(argv[2], nullptr, 10) : 1;
  const bool shrinks = argc <= 3;
  std::map<std::string, long> results, statements, failures;
  double fuel = 0.0, air = 0.0, energy = 0.0, slowest = 0.0;
  long failed = 0;
  Watchdog watchdog;
  for (std::uint64_t seed = first; seed < first + count; ++seed) {
    watchdog.begin(seed);
    const RandomCase drawn = draw_case(seed);
    const Verdict verdict = judge(drawn.text());
    slowest = std::max(slowest, verdict.wall);
    switch (verdict.kind) {
      case Verdict::Kind::result:
        ++results[class_of(verdict.words)];
        fuel = std::max(fuel, verdict.fuel);
        air = std::max(air, verdict.air);
        energy = std::max(energy, verdict.energy);
        break;
      case Verdict::Kind::statement:
        ++statements[class_of(verdict.words)];
        break;
      case Verdict::Kind::failure:
        ++failed;
        if (++failures[class_of(verdict.words)] > 1) break;
        fmt::print("seed {}: {}\n", seed, verdict.words);
        if (shrinks) fmt::print("{}\n", shrink(drawn, [&] { watchdog.begin(seed); }).text());
        std::fflush(stdout);
        break;
    }
  }
  fmt::print("{} random bikes: {} failed\n", count, failed);
  const auto list = [](const char* title, const std::map<std::string, long>& counts) {
    fmt::print("{}\n", title);
    for (const auto& [words, times] : counts) fmt::print("  {:>6}  {}\n", times, words);
  };
  list("results", results);
  list("stated why there is none", statements);
  list("failures", failures);
  fmt::print("largest budget residuals: fuel {:.2g}, air {:.2g}, energy {:.2g}; slowest case {:.2g} s\n",
             fuel, air, energy, slowest);
  return failed == 0 ? 0 : 1;
}
