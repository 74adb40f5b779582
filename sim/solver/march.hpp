#pragma once
#include <coroutine>
#include <exception>
#include <functional>
#include <utility>

#include "sim/solver/simulation.hpp"

namespace glassbowl::sim {

/// A simulation that is to be advanced, how far, and who hears of the cycles that end on the way.
struct Leg {
  Simulation* simulation = nullptr;
  double limit = 0.0;                                           ///< [s]
  const std::function<void(const Cycle&)>* on_cycle = nullptr;  ///< null: nobody

  const std::function<void(const Cycle&)>& listener() const;  ///< `on_cycle`, or an empty function
};

/// A computation over simulations that leaves the advancing to its caller: it hands out one leg after the
/// other and looks at the simulation between them. So one text serves a simulation on its own and many that
/// go side by side. `co_yield` of another march hands out all its legs in turn: what goes wrong on one
/// reaches that march first, and this one only if it throws.
class March {
 public:
  struct promise_type {
    Leg leg;
    std::exception_ptr thrown, incoming;
    March* inner = nullptr;  // whose legs are ours until it ends

    struct Arrive {
      promise_type& promise;
      bool await_ready() const noexcept { return false; }
      void await_suspend(std::coroutine_handle<>) const noexcept {}
      void await_resume() const {
        if (promise.incoming) std::rethrow_exception(std::exchange(promise.incoming, nullptr));
      }
    };
    March get_return_object() { return March(Handle::from_promise(*this)); }
    std::suspend_always initial_suspend() noexcept { return {}; }
    std::suspend_always final_suspend() noexcept { return {}; }
    Arrive yield_value(Leg to) {
      leg = to;
      return {*this};
    }
    Arrive yield_value(March& other) {
      inner = &other;
      return {*this};
    }
    void return_void() {}
    void unhandled_exception() { thrown = std::current_exception(); }
  };

  March(March&& other) noexcept : handle_(std::exchange(other.handle_, {})) {}
  March& operator=(March&& other) noexcept {
    std::swap(handle_, other.handle_);
    return *this;
  }
  ~March() {
    if (handle_) handle_.destroy();
  }

  /// Goes on to the next leg; false when there is none. `failure` is what went wrong on the last one: the
  /// computation sees it as thrown where it waits. Throws what the computation throws.
  bool next(std::exception_ptr failure = nullptr) {
    auto& promise = handle_.promise();
    while (!goes_on_within(failure)) {
      promise.incoming = std::exchange(failure, nullptr);
      handle_.resume();
      if (promise.thrown) std::rethrow_exception(std::exchange(promise.thrown, nullptr));
      if (handle_.done() || promise.inner == nullptr) return !handle_.done();
    }
    return true;
  }
  const Leg& leg() const {
    const auto& promise = handle_.promise();
    return promise.inner != nullptr ? promise.inner->leg() : promise.leg;
  }

  /// Advances each leg's simulation by itself until all is done.
  void go_alone() {
    if (next()) go_on_alone();
  }
  /// The same from the leg that it has come to.
  void go_on_alone() {
    std::exception_ptr failure;
    do {
      failure = nullptr;
      try {
        leg().simulation->advance(leg().limit, leg().listener());
      } catch (...) {
        failure = std::current_exception();
      }
    } while (next(failure));
  }

 private:
  using Handle = std::coroutine_handle<promise_type>;
  explicit March(Handle handle) : handle_(handle) {}

  /// Goes on to the next leg of the march within. False where there is none, or no more of them; `failure` is
  /// then what that one threw, or as it was where there is none.
  bool goes_on_within(std::exception_ptr& failure) {
    auto& inner = handle_.promise().inner;
    if (inner == nullptr) return false;
    try {
      if (inner->next(std::exchange(failure, nullptr))) return true;
    } catch (...) {
      failure = std::current_exception();
    }
    inner = nullptr;
    return false;
  }

  Handle handle_;
};

}  // namespace glassbowl::sim
