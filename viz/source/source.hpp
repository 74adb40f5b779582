#pragma once
#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "sim/api/channel.hpp"
#include "sim/api/drawing_dimensions.hpp"

namespace glassbowl::viz {

inline constexpr int no_channel = -1;

/// A run that can be looked at: a trace on disk or a simulation that runs now. Rows are numbered from the
/// start of the run; a live run forgets its oldest rows.
class Source {
 public:
  virtual ~Source() = default;

  virtual const std::string& title() const = 0;
  virtual const sim::DrawingDimensions& geometry() const = 0;
  virtual int geometry_changes() const { return 0; }      ///< counts changes of parts
  virtual std::size_t changed_keys() const { return 0; }  ///< that differ from the case at present
  virtual bool running() const = 0;                       ///< rows may still come
  virtual std::string status() const = 0;                 ///< "complete", "running", ...

  virtual const std::vector<sim::Channel>& channels() const = 0;
  virtual std::size_t first_row() const = 0;
  virtual std::size_t end_row() const = 0;
  virtual double row_time(std::size_t row) = 0;
  virtual double value(int channel, std::size_t row) = 0;
  virtual void read(int channel, std::size_t row, std::span<double> values) = 0;

  virtual const std::vector<sim::Channel>& cycle_channels() const = 0;
  virtual std::size_t cycles() const = 0;
  virtual void read_cycles(int channel, std::size_t first, std::span<double> values) = 0;

  /// Takes in rows that have come since; once per picture.
  virtual void refresh() = 0;

  int find(std::string_view name) const;
  int find_cycle(std::string_view name) const;
  bool empty() const { return end_row() == first_row(); }
  double first_time() { return empty() ? 0.0 : row_time(first_row()); }
  double last_time() { return empty() ? 0.0 : row_time(end_row() - 1); }

  /// Number of the cycle that lasts at `time`, or of the last one before it; -1 before the first.
  std::ptrdiff_t cycle_at(double time);

  /// Last row at or before `time`, or the first one. Needs rows.
  std::size_t row_at(double time);
};

/// A point in time of a source: between two rows, values are interpolated; a gap (NaN) is not bridged.
class Instant {
 public:
  Instant(Source& source, double time);
  double time() const { return time_; }
  bool has_rows() const { return has_rows_; }
  Source& source() const { return *source_; }
  /// NaN for `no_channel`.
  double operator[](int channel) const;
  /// A cycle-averaged channel in the cycle that lasts at this time, or else in the last one before it.
  double cycle(int channel) const;

 private:
  Source* source_;
  double time_;
  std::size_t row_ = 0;
  double share_ = 0.0;
  bool has_rows_ = false;
};

}  // namespace glassbowl::viz
