#pragma once
#include <array>
#include <atomic>
#include <cstdint>

namespace glassbowl::sim {

/// Hands values from one writing thread to one reading thread without locks: one slot is written, one read,
/// one lies ready between them.
template <class T>
class TripleBuffer {
 public:
  /// The slot to write next; the writer's own until `publish`.
  T& back() { return slots_[back_]; }
  /// Whether the reader has taken what was published last.
  bool taken() const { return (middle_.load(std::memory_order_acquire) & fresh) == 0; }
  void publish() {
    back_ = middle_.exchange(static_cast<std::uint8_t>(back_ | fresh), std::memory_order_acq_rel) & index;
  }

  /// Makes the newest published slot the front one; false if there is none newer.
  bool refresh() {
    if (taken()) return false;
    front_ = middle_.exchange(front_, std::memory_order_acq_rel) & index;
    return true;
  }
  T& front() { return slots_[front_]; }

 private:
  static constexpr std::uint8_t fresh = 4, index = 3;
  std::array<T, 3> slots_{};
  std::uint8_t back_ = 0, front_ = 2;
  std::atomic<std::uint8_t> middle_{1};
};

}  // namespace glassbowl::sim
