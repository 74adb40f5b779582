#include "sim/api/run.hpp"

#include <algorithm>
#include <mutex>
#include <stdexcept>
#include <thread>

#include "sim/report/summary_json.hpp"
#include "sim/report/summary_text.hpp"
#include "sim/run/run_case.hpp"
#include "sim/run/summary_numbers.hpp"

namespace glassbowl::sim {

double RunResults::number(std::string_view name) const {
  const auto found =
      std::find_if(numbers.begin(), numbers.end(), [&](const auto& n) { return n.first == name; });
  if (found == numbers.end()) throw std::out_of_range("a run has no number \"" + std::string(name) + "\"");
  return found->second;
}

RunResults run(const Case& ride, const RunSettings& settings) {
  RunRequest request;
  if (!settings.trace.empty()) request.trace = settings.trace;
  if (!settings.csv.empty()) request.csv = settings.csv;
  request.force = settings.replace;
  request.progress = settings.progress;
  request.stop = settings.stop;
  const Summary summary = run_case(ride.resolved(), request);
  return {summary.ending == Ending::complete,
          summary.ending == Ending::stalled,
          summary_text(summary),
          summary_caution(summary),
          summary_json(summary),
          summary_numbers(summary)};
}

struct BackgroundRun::State {
  std::filesystem::path trace;
  std::atomic<double> done{0.0};
  std::atomic<bool> finished{false}, stop{false};
  mutable std::mutex mutex;
  std::string problem;
  std::thread thread;
};

BackgroundRun::BackgroundRun(std::string given, std::filesystem::path trace, std::vector<std::string> sets)
    : state_(std::make_unique<State>()) {
  state_->trace = std::move(trace);
  state_->thread = std::thread([s = state_.get(), name = std::move(given), own = std::move(sets)] {
    try {
      RunSettings settings;
      settings.trace = s->trace;
      settings.stop = &s->stop;
      settings.progress = [s](double share, double) { s->done = share; };
      run(Case(name, own), settings);
    } catch (const std::exception& failure) {
      const std::lock_guard lock(s->mutex);
      s->problem = failure.what();
    }
    s->finished = true;
  });
}

BackgroundRun::~BackgroundRun() {
  state_->stop = true;
  state_->thread.join();
}

const std::filesystem::path& BackgroundRun::trace() const {
  return state_->trace;
}
double BackgroundRun::done() const {
  return state_->done;
}
bool BackgroundRun::finished() const {
  return state_->finished;
}
std::string BackgroundRun::problem() const {
  const std::lock_guard lock(state_->mutex);
  return state_->problem;
}

}  // namespace glassbowl::sim
