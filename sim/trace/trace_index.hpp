#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "sim/api/channel.hpp"

namespace glassbowl::sim {

/// All of a trace but its rows: what it says of itself, and where in the file each column's values lie.
struct TraceIndex {
  static constexpr std::uint64_t nowhere = static_cast<std::uint64_t>(-1);
  static constexpr std::uint64_t most_rows = 1'000'000'000;  ///< no case may ask for as many
  static constexpr std::uint64_t most_chunks = 1000;         ///< of a plain column

  /// A channel or a scale.
  struct Column {
    Channel channel;
    Dimension dimension = Dimension::time;
    std::uint64_t length = 0;  ///< rows that the file says it has; not all may be written
    /// Little-endian floats as they are, in chunks of `chunk_rows`: so this program writes. Another one may
    /// have compressed or converted them.
    bool plain = false;
    std::uint64_t chunk_rows = 1;          ///< that lie, or are compressed, together
    std::vector<std::uint64_t> addresses;  ///< of the chunks, `nowhere` for one without a place yet

    std::uint64_t value_bytes() const { return channel.wide ? 8 : 4; }
  };

  std::string title, version, status, case_resolved;
  std::vector<std::pair<std::string, double>> summary;
  Column time, cycle;            ///< the scales
  std::vector<Column> channels;  ///< in the order in which they were written
};

/// Finds it with the HDF5 library, in a child process: a damaged or hostile file can crash the library, or
/// lead it astray, only there.
///   file    a regular file that can be opened
///   named   what errors call it
/// Errors  `Error` of kind `file`: not HDF5, cut short, damaged, not a trace.
TraceIndex index_trace(const std::filesystem::path& file, const std::filesystem::path& named);

/// `count` values of a column that is not plain, from row `first` on, read in a child likewise.
std::vector<double> read_in_child(const std::filesystem::path& file, const std::filesystem::path& named,
                                  const TraceIndex::Column& column, std::uint64_t first, std::uint64_t count);

/// As handed from the child. Throws std::length_error for bytes that are no index, or one whose columns have
/// fewer chunks than rows.
std::string pack(const TraceIndex& index);
TraceIndex unpack_trace_index(std::string_view bytes);

}  // namespace glassbowl::sim
