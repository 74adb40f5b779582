#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <utility>

#include "sim/output/disk_file.hpp"
#include "sim/trace/trace_layout.hpp"
#include "sim/trace/trace_writer.hpp"

namespace glassbowl::sim {

/// Cuts every column to the rows written where the file says more, then stores summary and status. All of it
/// overwrites numbers of fixed size in place, so a kill in the midst leaves a file that opens.
/// Errors: Hdf5Failure, std::system_error.
void close_trace_file(const DiskFile& out, const TracePlan& plan, const TraceLayout& layout, std::size_t rows,
                      std::size_t cycles, std::string_view status,
                      std::span<const std::pair<std::string, double>> summary);

/// Gives room behind byte `end` back, which only chunks cut off have used. A file whose head is not as
/// expected is left as it is: the room is then a hole at its end. Errors: std::system_error.
void trim_trace_file(const DiskFile& file, std::uint64_t end);

}  // namespace glassbowl::sim
