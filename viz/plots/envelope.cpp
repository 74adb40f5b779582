#include "viz/plots/envelope.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace glassbowl::viz {

void Spread::add(double value) {
  if (!std::isfinite(value)) return;
  least = std::min(least, static_cast<float>(value));
  greatest = std::max(greatest, static_cast<float>(value));
  sum += value;
  ++count;
}

void Spread::add(const Spread& other) {
  least = std::min(least, other.least);
  greatest = std::max(greatest, other.greatest);
  sum += other.sum;
  count += other.count;
}

bool Envelope::advance(Source& source, std::size_t rows) {
  // Blocks are counted from row 0; a live run's forgotten rows leave empty blocks behind.
  if (done_ < source.first_row()) done_ = (source.first_row() + fine - 1) / fine * fine;
  std::array<double, fine> values;
  while (done_ + fine <= source.end_row() && rows >= fine) {
    source.read(channel_, done_, values);
    Spread spread;
    for (const double v : values) spread.add(v);
    const std::size_t block = done_ / fine;
    fine_.resize(block + 1);
    fine_[block] = spread;
    coarse_.resize(done_ / coarse + 1);
    coarse_[done_ / coarse].add(spread);
    done_ += fine;
    rows -= fine;
  }
  return done_ + fine > source.end_row();
}

Spread Envelope::over(Source& source, std::size_t first, std::size_t end) const {
  Spread out;
  first = std::max(first, source.first_row());
  end = std::min(end, source.end_row());
  for (std::size_t row = first; row < end;) {
    if (row % coarse == 0 && row + coarse <= end && row + coarse <= done_) {
      out.add(coarse_[row / coarse]);
      row += coarse;
    } else if (row % fine == 0 && row + fine <= end && row + fine <= done_) {
      out.add(fine_[row / fine]);
      row += fine;
    } else {
      out.add(source.value(channel_, row));
      ++row;
    }
  }
  return out;
}

}  // namespace glassbowl::viz
