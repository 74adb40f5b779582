#include <fmt/format.h>
#include <sys/resource.h>

#include <algorithm>
#include <chrono>
#include <cstring>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <functional>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "sim/lanes/lane_group.hpp"
#include "sim/run/find_case.hpp"
#include "sim/run/runner.hpp"
#include "sim/solver/steady_cycle.hpp"
#include "sim/studies/steady_map.hpp"

/// How fast the program is, as ratios of what it does in one and the same run: a machine's speed drops out,
/// and so does most of its noise, by medians over interleaved repeats. Processor time, except where threads
/// are compared. No test: figures of time belong into no test.
namespace {

using namespace glassbowl::sim;

double processor_time(const std::function<void()>& work) {
  const auto now = [] {
    timespec t{};
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
  };
  const double begin = now();
  work();
  return now() - begin;
}

double wall_time(const std::function<void()>& work) {
  const auto begin = std::chrono::steady_clock::now();
  work();
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
}

double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

struct Contest {
  double first, second;  ///< median times [s]
};

/// Times two pieces of work in turn, so that both meet the same weather.
Contest interleaved(int repeats, double (*clock)(const std::function<void()>&),
                    const std::function<void()>& a, const std::function<void()>& b) {
  std::vector<double> first, second;
  for (int i = 0; i < repeats; ++i) {
    first.push_back(clock(a));
    second.push_back(clock(b));
  }
  return {median(first), median(second)};
}

struct Figure {
  std::string name;
  double value, goal;
  bool at_least = true;
  bool held() const { return at_least ? value >= goal : value <= goal; }
};

ResolvedCase held(const char* run, double opening, double speed, const std::vector<std::string>& more = {}) {
  std::vector<std::string> sets{"load.kind=held_speed", "rider.choke=0 %", "rider.starter=0 %",
                                fmt::format("rider.throttle={:.17g} %", opening),
                                fmt::format("load.speed={:.17g} rpm", speed)};
  sets.insert(sets.end(), more.begin(), more.end());
  return read_case(find_case(run), sets);
}

constexpr const char* runs[] = {"slow_sweep", "slow_sweep_piston"};  // one carburetor of each kind

/// Sixteen points of each bike, to the same time.
std::vector<std::vector<ResolvedCase>> points(const std::vector<std::string>& more = {}) {
  std::vector<std::vector<ResolvedCase>> out;
  for (const char* run : runs) {
    out.emplace_back();
    for (int k = 0; k < 16; ++k)
      out.back().push_back(held(run, 5.0 + 6.0 * k, 1500.0 + 1500.0 * (k % 4), more));
  }
  return out;
}

constexpr double marched = 0.4;  // [s]

void alone(const std::vector<std::vector<ResolvedCase>>& bikes) {
  for (const auto& same : bikes)
    for (const auto& one : same) {
      Simulation simulation(one.bike, one.plan.step);
      simulation.advance(marched);
    }
}

void side_by_side(const std::vector<std::vector<ResolvedCase>>& bikes, const std::string& instructions) {
  const auto group = make_lane_group(instructions);
  for (const auto& same : bikes) {
    std::vector<std::unique_ptr<Simulation>> all;
    for (const auto& one : same) all.push_back(std::make_unique<Simulation>(one.bike, one.plan.step));
    std::size_t next = 0;
    const auto fill = [&](std::size_t lane) {
      if (next < all.size()) group->put(lane, {all[next++].get(), marched, nullptr});
    };
    for (std::size_t lane = 0; lane < group->size(); ++lane) fill(lane);
    for (auto arrived = group->advance(); !arrived.empty(); arrived = group->advance())
      for (const auto& a : arrived) fill(a.lane);
  }
}

void single_run(std::vector<Figure>& out) {
  const auto resolved = read_case(find_case("blip"));
  const auto file = std::filesystem::temp_directory_path() / fmt::format("glassbowl-bench-{}.h5", ::getpid());
  RunRequest with, without;
  with.trace = file;
  with.force = true;
  double simulated = 0.0;
  const auto times = interleaved(
      5, processor_time, [&] { run_case(resolved, with); },
      [&] {
        const Summary s = run_case(resolved, without);
        simulated = s.settle + s.simulated;
      });
  std::filesystem::remove(file);
  out.push_back(
      {"single run with trace, simulated seconds per second of one core", simulated / times.first, 15});
  out.push_back({"trace writing, share of the run's time", 1.0 - times.second / times.first, 0.10, false});
}

void lanes(std::vector<Figure>& out) {
  const auto fixed = points(), controlled = points({"run.method=error_controlled", "run.tolerance=1e-5"});
  for (const auto& instructions : {std::string("sse2"), std::string("avx2"), std::string("avx512")}) {
    const auto times = interleaved(
        3, processor_time, [&] { alone(fixed); }, [&] { side_by_side(fixed, instructions); });
    const bool widest = instructions == widest_instruction_set();
    out.push_back({fmt::format("lanes ({}) against one by one, per core", instructions),
                   times.first / times.second, widest ? 6.0 : 1.0});
    if (widest) break;
  }
  const auto times = interleaved(
      3, processor_time, [&] { alone(controlled); }, [&] { side_by_side(fixed, widest_instruction_set()); });
  out.push_back({"lanes against error-controlled dopri5, per core", times.first / times.second, 6});
}

void map(std::vector<Figure>& out) {
  std::vector<PointTask> tasks;
  for (const char* bike : {"bikes/mule_750", "bikes/courier_650"}) {
    const auto resolved =
        read_case(find_case(bike), {"load.kind=held_speed", "load.speed=3000 rpm", "run.duration=1 s"});
    for (auto& task : map_tasks(resolved.text, {}, grid_of(resolved, {}).places(), {})) tasks.push_back(task);
  }
  const auto with = [&](unsigned threads) {
    return [&tasks, threads] { PointRunner(nullptr, threads).run(tasks); };
  };
  const auto times = interleaved(3, wall_time, with(1), with(2));
  out.push_back({"two threads against one", times.first / times.second, 1.9});
  out.push_back({"points of the default map per second, two threads",
                 static_cast<double>(tasks.size()) / times.second, 80});
}

void steady_cycles(std::vector<Figure>& out) {
  double plain = 0.0, accelerated = 0.0;
  for (const char* run : runs)
    for (const double opening : {5.0, 20.0, 60.0})
      for (const double speed : {2000.0, 4500.0}) {
        const auto resolved = held(run, opening, speed);
        const auto cycles = [&](int memory) {
          Simulation simulation(resolved.bike, resolved.plan.step);
          SteadyOptions options;
          options.tolerance = 1e-3;
          options.accelerate = memory > 0;
          return find_steady_cycle(simulation, options).cycles;
        };
        plain += cycles(0);
        accelerated += cycles(1);
      }
  out.push_back({"cycles to a steady one, plain against accelerated, cold", plain / accelerated, 7});
}

void memory(std::vector<Figure>& out) {
  const auto resident = [] {
    std::ifstream file("/proc/self/statm");
    long all = 0, pages = 0;
    file >> all >> pages;
    return static_cast<double>(pages) * static_cast<double>(::sysconf(_SC_PAGESIZE)) / 1024.0;
  };
  const auto resolved = held("slow_sweep", 20.0, 3000.0);
  constexpr int many = 1000;
  std::vector<std::unique_ptr<Simulation>> all;
  const double before = resident();
  for (int i = 0; i < many; ++i)
    all.push_back(std::make_unique<Simulation>(resolved.bike, resolved.plan.step));
  out.push_back({"memory per operating point, KiB", (resident() - before) / many, 64, false});
}

}  // namespace

int main(int count, char** arguments) try {
  const bool json = count > 1 && std::strcmp(arguments[1], "--json") == 0;
  if (count > 1 && !json) {
    fmt::print(stderr, "usage: glassbowl-bench [--json]\n");
    return 2;
  }
  std::vector<Figure> figures;
  for (const auto measure : {memory, single_run, lanes, map, steady_cycles}) measure(figures);
  if (json) {
    auto rows = nlohmann::json::array();
    for (const auto& f : figures)
      rows.push_back({{"figure", f.name}, {"value", f.value}, {"goal", f.goal}, {"held", f.held()}});
    fmt::print("{}\n", rows.dump(2));
    return 0;
  }
  fmt::print("{:<70} {:>8}   {:>8}\n", "figure", "value", "goal");
  for (const auto& f : figures)
    fmt::print("{:<70} {:>8.3g} {} {:>8.3g}{}\n", f.name, f.value, f.at_least ? ">=" : "<=", f.goal,
               f.held() ? "" : "   not reached");
  return 0;
} catch (const std::exception& failure) {
  fmt::print(stderr, "glassbowl-bench: {}\n", failure.what());
  return 1;
}
