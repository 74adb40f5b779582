#pragma once
#include <cstddef>
#include <limits>
#include <vector>

#include "viz/source/source.hpp"

namespace glassbowl::viz {

/// Least, greatest and mean value over some rows; gaps (NaN) do not count.
struct Spread {
  float least = std::numeric_limits<float>::infinity();
  float greatest = -std::numeric_limits<float>::infinity();
  double sum = 0.0;
  std::size_t count = 0;

  void add(double value);
  void add(const Spread& other);
  bool empty() const { return count == 0; }
  double mean() const { return sum / static_cast<double>(count); }
};

/// Spreads of one channel over blocks of rows, built as rows come and as time allows: a strip that shows an
/// hour reads blocks, not rows.
class Envelope {
 public:
  static constexpr std::size_t fine = 64, coarse = 4096;

  explicit Envelope(int channel) : channel_(channel) {}

  /// Takes in at most `rows` more rows; true when it is up to date.
  bool advance(Source& source, std::size_t rows);
  /// Over rows [first, end); reads single rows where blocks do not fit.
  Spread over(Source& source, std::size_t first, std::size_t end) const;
  std::size_t done() const { return done_; }  ///< rows taken in
  int channel() const { return channel_; }

 private:
  int channel_;
  std::size_t done_ = 0;
  std::vector<Spread> fine_, coarse_;
};

}  // namespace glassbowl::viz
