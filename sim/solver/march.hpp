#pragma once
#include <coroutine>
#include <exception>
#include <functional>
#include <utility>

#include "sim/solver/cycle.hpp"

namespace glassbowl::sim {

/// Where a simulation is to be advanced to, and who hears of the cycles that end on the way.
struct Leg {
  double limit = 0.0;                                           ///< [s]
  const std::function<void(const Cycle&)>* on_cycle = nullptr;  ///< null: nobody
};

/// A computation over a simulation that leaves the advancing to its caller: it hands out one leg after the
/// other and looks at the simulation between them. So one text serves a simulation on its own and many that
/// go side by side. What it throws, `next` throws.
class March {
 public:
  struct promise_type {
    Leg leg;
    std::exception_ptr failure;
    March get_return_object() { return March(Handle::from_promise(*this)); }
    std::suspend_always initial_suspend() noexcept { return {}; }
    std::suspend_always final_suspend() noexcept { return {}; }
    std::suspend_always yield_value(Leg to) {
      leg = to;
      return {};
    }
    void return_void() {}
    void unhandled_exception() { failure = std::current_exception(); }
  };

  March(March&& other) noexcept : handle_(std::exchange(other.handle_, {})) {}
  March& operator=(March&& other) noexcept {
    std::swap(handle_, other.handle_);
    return *this;
  }
  ~March() {
    if (handle_) handle_.destroy();
  }

  /// Goes on to the next leg; false when there is none.
  bool next() {
    handle_.resume();
    if (handle_.promise().failure) std::rethrow_exception(std::exchange(handle_.promise().failure, nullptr));
    return !handle_.done();
  }
  const Leg& leg() const { return handle_.promise().leg; }

 private:
  using Handle = std::coroutine_handle<promise_type>;
  explicit March(Handle handle) : handle_(handle) {}
  Handle handle_;
};

}  // namespace glassbowl::sim
