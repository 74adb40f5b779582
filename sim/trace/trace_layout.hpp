#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "sim/output/disk_file.hpp"
#include "sim/trace/trace_writer.hpp"

namespace glassbowl::sim {

inline constexpr std::size_t cycle_block = 16;    // cycles are few and slow to come
inline constexpr std::size_t status_bytes = 256;  // room of the `status` attribute, with its closing zero

/// Where one dimension's columns lie in the file: the scale first, then the channels in plan order.
struct TableLayout {
  struct Column {
    bool wide = false;                     // float64, else float32
    std::vector<std::uint64_t> addresses;  // of the chunks, in bytes from the start of the file
    std::size_t value_bytes() const { return wide ? 8 : 4; }
  };
  std::size_t room = 0;  // rows, as the datasets say
  std::size_t chunk_rows = 0;
  std::size_t chunks = 0;
  std::vector<Column> columns;

  /// First byte behind the chunks that hold the first `rows` rows.
  std::uint64_t end_of(std::size_t rows) const;
  std::uint64_t offset(std::size_t column, std::size_t row) const {
    const Column& place = columns[column];
    return place.addresses[row / chunk_rows] + (row % chunk_rows) * place.value_bytes();
  }
};

struct TraceLayout {
  TableLayout time;
  TableLayout cycle;
  std::uint64_t fixed_bytes = 0;  // nothing but chunks of `time` rows lies behind this
};

/// Crank-resolved rows handed to the disk together: a fifth of a short run, rounded up to whole pages, so
/// that a kill costs little of it, and up to 8192 of a long one, since each chunk costs its laying out.
std::size_t time_block_for(std::size_t expected_rows);

/// Lays out an empty file as HDF5 with every dataset at its full extent and NaN in the scales. After this the
/// rows are plain bytes at known places: writing them touches no structure.
/// Errors  Hdf5Failure or std::system_error; the file may then be written in part.
TraceLayout create_trace_file(const DiskFile& out, const TraceHeader& header, const TracePlan& plan,
                              std::size_t time_block);

}  // namespace glassbowl::sim
