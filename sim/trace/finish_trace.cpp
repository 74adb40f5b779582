#include "sim/trace/finish_trace.hpp"

#include <algorithm>
#include <array>
#include <vector>

#include "sim/trace/hdf5.hpp"
#include "sim/trace/hdf5_driver.hpp"
#include "sim/trace/superblock.hpp"

namespace glassbowl::sim {
namespace {

void cut(hid_t file, const std::string& name, std::size_t rows) {
  Hdf5Handle dataset(H5Dopen2(file, name.c_str(), H5P_DEFAULT));
  const hsize_t extent = rows;
  hdf5_check(H5Dset_extent(dataset, &extent));
}

void cut(hid_t file, const char* scale, const std::vector<Channel>& channels, const TableLayout& layout,
         std::size_t rows) {
  if (rows == layout.room) return;
  for (const Channel& channel : channels) cut(file, channel.name, rows);
  cut(file, scale, rows);
}

void overwrite_status(hid_t file, std::string_view status) {
  std::size_t length = std::min(status.size(), status_bytes - 1);
  if (length < status.size()) {  // cut before a character of several bytes, not within
    while (length > 0 && (static_cast<unsigned char>(status[length]) & 0xC0) == 0x80) --length;
  }
  std::array<char, status_bytes> room{};
  std::copy_n(status.begin(), length, room.begin());
  Hdf5Handle attribute(H5Aopen(file, "status", H5P_DEFAULT));
  Hdf5Handle type(H5Aget_type(attribute));
  hdf5_check(H5Awrite(attribute, type, room.data()));
}

}  // namespace

void close_trace_file(const DiskFile& out, const TracePlan& plan, const TraceLayout& layout, std::size_t rows,
                      std::size_t cycles, std::string_view status,
                      std::span<const std::pair<std::string, double>> summary) {
  const Hdf5Session session;
  const Hdf5Handle access = trace_access();
  const Hdf5Driver driver(out, access);
  Hdf5Handle file(H5Fopen("trace", H5F_ACC_RDWR, access));
  cut(file, "time", plan.time_channels, layout.time, rows);
  cut(file, "cycle", plan.cycle_channels, layout.cycle, cycles);
  for (const auto& [name, value] : summary) {
    Hdf5Handle attribute(H5Aopen(file, name.c_str(), H5P_DEFAULT));
    hdf5_check(H5Awrite(attribute, H5T_NATIVE_DOUBLE, &value));
  }
  overwrite_status(file, status);
  file.close();
  driver.check();
}

void trim_trace_file(const DiskFile& file, std::uint64_t end) {
  // The length that the superblock says is made smaller before the length itself: so the file opens at any
  // moment.
  const std::uint64_t size = file.size();
  const std::uint64_t said = read_superblock_end(file);
  if (said > size || said < superblock_bytes) return;
  if (end < said) file.write_at(&end, sizeof end, superblock_end_at);
  if (std::min(end, said) < size) file.cut(std::min(end, said));
}

}  // namespace glassbowl::sim
