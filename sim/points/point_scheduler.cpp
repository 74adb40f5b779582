#include "sim/points/point_scheduler.hpp"

#include <algorithm>
#include <exception>
#include <mutex>
#include <system_error>
#include <thread>
#include <utility>

#include "sim/points/lane_filler.hpp"

namespace glassbowl::sim {
namespace {

/// Within each batch the longest first.
void put_longest_first(std::vector<std::size_t>& open, const std::vector<PointTask>& tasks) {
  for (auto begin = open.begin(); begin != open.end();) {
    const auto end =
        std::find_if(begin, open.end(), [&](std::size_t i) { return tasks[i].batch != tasks[*begin].batch; });
    std::stable_sort(begin, end,
                     [&](std::size_t a, std::size_t b) { return tasks[a].effort > tasks[b].effort; });
    begin = end;
  }
}

}  // namespace

PointScheduler::PointScheduler(PointJournal* journal, unsigned threads, const std::atomic<bool>* stop,
                               std::function<void(std::size_t, std::size_t)> progress)
    : journal_(journal),
      threads_(threads != 0 ? threads : std::max(1u, std::thread::hardware_concurrency())),
      stop_(stop),
      progress_(std::move(progress)) {}

void PointScheduler::expect(std::size_t points) {
  expected_ = std::max(expected_, done_ + points);
}

std::optional<PointResult> PointScheduler::find(const std::string& key) const {
  if (journal_ != nullptr) return journal_->find(key);
  const auto at = remembered_.find(key);
  return at == remembered_.end() ? std::nullopt : std::optional(at->second);
}

std::vector<std::vector<double>> PointScheduler::run(const std::vector<PointTask>& tasks) {
  expect(tasks.size());
  std::vector<PointResult> results(tasks.size());
  std::vector<std::size_t> open;
  for (std::size_t i = 0; i < tasks.size(); ++i) {
    if (auto known = find(tasks[i].key)) {
      results[i] = std::move(*known);
      ++taken_over_;
      ++done_;
      continue;
    }
    open.push_back(i);
  }
  put_longest_first(open, tasks);
  std::atomic<bool> give_up{false};
  std::exception_ptr failure;
  std::mutex mutex;
  const auto stopped = [&] { return stop_ != nullptr && stop_->load(std::memory_order_relaxed); };
  const auto keep = [&](std::size_t i, PointResult result) {
    results[i] = std::move(result);
    if (journal_ != nullptr) journal_->keep(tasks[i].key, results[i]);
    const std::lock_guard lock(mutex);
    if (journal_ == nullptr) remembered_[tasks[i].key] = results[i];
    ++computed_;
    ++done_;
    if (progress_) progress_(done_, expected_);
  };
  const std::size_t crew = std::clamp<std::size_t>(open.size(), 1, threads_);
  const std::size_t share = std::max<std::size_t>(1, (open.size() + crew - 1) / crew);
  PointExchange queue(std::move(open), crew);
  const auto work = [&] {
    try {
      LaneFiller worker(tasks, share, queue, keep);
      while (!give_up.load() && !stopped() && (worker.advance() || queue.wait())) {
      }
    } catch (...) {
      const std::lock_guard lock(mutex);
      if (!failure) failure = std::current_exception();
      give_up = true;
    }
    queue.send_home();
  };
  std::vector<std::thread> workers;
  try {
    for (std::size_t i = 1; i < crew; ++i) workers.emplace_back(work);
  } catch (const std::exception&) {  // no more threads, or memory for one: these and this one do all of it
    queue.have_only(workers.size() + 1);
  }
  work();
  for (auto& worker : workers) worker.join();
  if (failure) std::rethrow_exception(failure);
  if (stopped()) throw StudyInterrupted();
  std::vector<std::vector<double>> values;
  for (std::size_t i = 0; i < tasks.size(); ++i) {
    if (!results[i].why_not.empty() && failed_.insert(tasks[i].key).second)
      failures_.push_back({tasks[i].name, results[i].why_not});
    values.push_back(std::move(results[i].values));
  }
  return values;
}

}  // namespace glassbowl::sim
