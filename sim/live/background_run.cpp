#include "sim/api/background_run.hpp"

#include <mutex>
#include <thread>
#include <utility>

#include "sim/cases/find_case.hpp"
#include "sim/live/given_case.hpp"
#include "sim/run/run_case.hpp"

namespace glassbowl::sim {
namespace {

std::vector<ShippedCase> list(const std::string& folder, const std::string& before) {
  std::vector<ShippedCase> out;
  for (const auto& file : shipped_files(folder)) out.push_back({before + file.name, file.title});
  return out;
}

}  // namespace

std::vector<ShippedCase> shipped_rides() {
  return list("runs", "");
}
std::vector<ShippedCase> shipped_bikes() {
  return list("bikes", "bikes/");
}

bool is_trace_file(const std::filesystem::path& file) {
  return is_trace(file);
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
      RunRequest request;
      request.trace = s->trace;
      request.stop = &s->stop;
      request.progress = [s](double share, double) { s->done = share; };
      run_case(read_given(name, own), request);
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
