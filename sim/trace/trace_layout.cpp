#include "sim/trace/trace_layout.hpp"

#include <algorithm>
#include <limits>

#include "sim/trace/hdf5.hpp"
#include "sim/trace/hdf5_driver.hpp"
#include "sim/trace/hdf5_scales.hpp"
#include "sim/trace/seal.hpp"
#include "sim/trace/stored_text.hpp"

namespace glassbowl::sim {
namespace {

// A version 1 B-tree of the file format holds 64 chunks in its first node. Within that, cutting a dataset
// changes one node in place and frees none.
constexpr std::size_t most_time_chunks = 64;
constexpr std::size_t most_cycle_chunks = 1;  // nothing is cut off the end of a file by them
constexpr hsize_t structure_bytes = 65536;    // room for structure asked for at a time
constexpr std::size_t least_cycles = 512;     // few bytes, and growing copies the whole file
constexpr std::size_t unknown_blocks = 64;    // room costs nothing until it is used

void write_number(hid_t object, const std::string& name, double value) {
  Hdf5Handle space(H5Screate(H5S_SCALAR));
  Hdf5Handle attribute(H5Acreate2(object, name.c_str(), H5T_IEEE_F64LE, space, H5P_DEFAULT, H5P_DEFAULT));
  hdf5_check(H5Awrite(attribute, H5T_NATIVE_DOUBLE, &value));
}

/// A dataset, not an attribute: an object header holds no attribute of 64 KiB or more.
void write_case(hid_t file, const std::string& text) {
  Hdf5Handle type(H5Tcopy(H5T_C_S1));
  hdf5_check(H5Tset_size(type, H5T_VARIABLE));
  hdf5_check(H5Tset_cset(type, H5T_CSET_UTF8));
  Hdf5Handle space(H5Screate(H5S_SCALAR));
  Hdf5Handle creation(H5Pcreate(H5P_DATASET_CREATE));
  hdf5_check(H5Pset_obj_track_times(creation, 0));  // the same run gives the same bytes
  Hdf5Handle dataset(H5Dcreate2(file, "case_resolved", type, space, H5P_DEFAULT, creation, H5P_DEFAULT));
  const char* data = text.c_str();
  hdf5_check(H5Dwrite(dataset, type, H5S_ALL, H5S_ALL, H5P_DEFAULT, &data));
  write_text(dataset, "long_name", "complete input of the run, TOML");
}

/// Only a scale is filled with NaN: to fill all columns would cost as much as the run's own writing. The
/// others stay holes of the file, which take no room and read as 0.
Hdf5Handle column_creation(std::size_t chunk_rows, bool is_scale) {
  const hsize_t chunk = chunk_rows;
  Hdf5Handle creation(H5Pcreate(H5P_DATASET_CREATE));
  hdf5_check(H5Pset_chunk(creation, 1, &chunk));
  hdf5_check(H5Pset_alloc_time(creation, H5D_ALLOC_TIME_EARLY));
  hdf5_check(H5Pset_fill_time(creation, is_scale ? H5D_FILL_TIME_ALLOC : H5D_FILL_TIME_NEVER));
  hdf5_check(H5Pset_obj_track_times(creation, 0));
  const double missing = std::numeric_limits<double>::quiet_NaN();
  hdf5_check(H5Pset_fill_value(creation, H5T_NATIVE_DOUBLE, &missing));
  return creation;
}

Hdf5Handle create_column(hid_t file, const Channel& channel, hid_t space, hid_t creation) {
  const hid_t type = channel.wide ? H5T_IEEE_F64LE : H5T_IEEE_F32LE;
  Hdf5Handle dataset(H5Dcreate2(file, channel.name.c_str(), type, space, H5P_DEFAULT, creation, H5P_DEFAULT));
  write_text(dataset, "units", channel.unit);
  write_text(dataset, "long_name", channel.long_name);
  write_text(dataset, "part", channel.part);
  return dataset;
}

struct Table {
  std::vector<Hdf5Handle> datasets;
  TableLayout layout;
};

Table create_table(hid_t file, const Channel& scale, const std::vector<Channel>& channels, std::size_t rows,
                   std::size_t block, std::size_t most_chunks) {
  if (rows == 0) rows = block * unknown_blocks;
  Table table;
  table.layout.room = rows;
  const std::size_t blocks = (rows + block - 1) / block;
  const std::size_t blocks_in_chunk = (blocks + most_chunks - 1) / most_chunks;
  table.layout.chunk_rows = block * blocks_in_chunk;
  table.layout.chunks = (blocks + blocks_in_chunk - 1) / blocks_in_chunk;
  const hsize_t none = 0;
  const hsize_t endless = H5S_UNLIMITED;
  Hdf5Handle space(H5Screate_simple(1, &none, &endless));
  table.datasets.push_back(create_column(file, scale, space, column_creation(table.layout.chunk_rows, true)));
  table.layout.columns.push_back({scale.wide, {}});
  hdf5_check(H5DSset_scale(table.datasets.front(), scale.name.c_str()));
  const Hdf5Handle creation = column_creation(table.layout.chunk_rows, false);
  for (const Channel& channel : channels) {
    table.datasets.push_back(create_column(file, channel, space, creation));
    table.layout.columns.push_back({channel.wide, {}});
  }
  attach_to_first(table.datasets);
  return table;
}

std::uint64_t chunk_bytes(const TableLayout& layout) {
  std::uint64_t bytes = 0;
  for (const TableLayout::Column& column : layout.columns) bytes += layout.chunk_rows * column.value_bytes();
  return bytes;
}

std::uint64_t file_bytes(hid_t file) {
  hsize_t bytes = 0;
  hdf5_check(H5Fget_filesize(file, &bytes));
  return bytes;
}

/// Chunks of all columns side by side, in the order of time: what is cut off later is then the end of the
/// file.
void allocate(Table& table, std::size_t chunk) {
  const hsize_t rows = std::min((chunk + 1) * table.layout.chunk_rows, table.layout.room);
  for (Hdf5Handle& dataset : table.datasets) hdf5_check(H5Dset_extent(dataset, &rows));
}

void locate(Table& table) {
  for (std::size_t column = 0; column < table.datasets.size(); ++column) {
    for (std::size_t chunk = 0; chunk < table.layout.chunks; ++chunk) {
      const hsize_t first = chunk * table.layout.chunk_rows;
      unsigned filters = 0;
      haddr_t address = HADDR_UNDEF;
      hsize_t bytes = 0;
      hdf5_check(H5Dget_chunk_info_by_coord(table.datasets[column], &first, &filters, &address, &bytes));
      if (address == HADDR_UNDEF) throw Hdf5Failure("the HDF5 library reserved no room");
      table.layout.columns[column].addresses.push_back(address);
    }
  }
}

}  // namespace

std::uint64_t TableLayout::end_of(std::size_t rows) const {
  std::uint64_t end = 0;
  const std::size_t kept = std::min(chunks, (rows + chunk_rows - 1) / chunk_rows);
  for (const Column& column : columns) {
    if (kept > 0) end = std::max(end, column.addresses[kept - 1] + chunk_rows * column.value_bytes());
  }
  return end;
}

std::size_t time_block_for(std::size_t expected_rows) {
  constexpr std::size_t page_rows = page_bytes / sizeof(float);
  if (expected_rows == 0) return 4 * page_rows;
  constexpr std::size_t blocks = 5;
  const std::size_t pages = (expected_rows + blocks * page_rows - 1) / (blocks * page_rows);
  return std::clamp<std::size_t>(pages, 1, 8) * page_rows;
}

TraceLayout create_trace_file(const DiskFile& out, const TraceHeader& header, const TracePlan& plan,
                              std::size_t time_block) {
  const Hdf5Session session;
  Hdf5Handle creation(H5Pcreate(H5P_FILE_CREATE));
  hdf5_check(H5Pset_link_creation_order(creation, H5P_CRT_ORDER_TRACKED | H5P_CRT_ORDER_INDEXED));
  hdf5_check(H5Pset_obj_track_times(creation, 0));
  const Hdf5Handle access = trace_access();
  hdf5_check(H5Pset_alignment(access, page_bytes, page_bytes));  // blocks of rows are whole pages then
  hdf5_check(H5Pset_meta_block_size(access, structure_bytes));
  const Hdf5Driver driver(out, access);
  Hdf5Handle file(H5Fcreate("trace", H5F_ACC_TRUNC, creation, access));

  write_text(file, "Conventions", "CF-1.10");
  write_text(file, "title", header.title);
  write_text(file, "program", "glassbowl");
  write_text(file, "program_version", header.version);
  write_text(file, "status", "running", status_bytes);
  for (const std::string& name : plan.summary) {
    write_number(file, name, std::numeric_limits<double>::quiet_NaN());
  }

  const Channel time{"time", "s", "time since the start of the run", "run", true};
  const Channel cycle{"cycle", "1", "engine cycle, counted from the start of the run", "run", true};
  TraceLayout layout;
  {
    Table rows =
        create_table(file, time, plan.time_channels, plan.expected_rows, time_block, most_time_chunks);
    Table cycles = create_table(file, cycle, plan.cycle_channels,
                                std::max(plan.expected_cycles, least_cycles), cycle_block, most_cycle_chunks);
    write_case(file, header.case_resolved);
    for (std::size_t chunk = 0; chunk < cycles.layout.chunks; ++chunk) allocate(cycles, chunk);
    allocate(rows, 0);
    hdf5_check(H5Fflush(file, H5F_SCOPE_LOCAL));  // some structure gets its place only now
    layout.fixed_bytes = file_bytes(file);
    for (std::size_t chunk = 1; chunk < rows.layout.chunks; ++chunk) allocate(rows, chunk);
    locate(rows);
    locate(cycles);
    hdf5_check(H5Fflush(file, H5F_SCOPE_LOCAL));
    const std::uint64_t grown = file_bytes(file) - layout.fixed_bytes;
    if (grown != chunk_bytes(rows.layout) * (rows.layout.chunks - 1)) layout.fixed_bytes += grown;
    layout.time = std::move(rows.layout);
    layout.cycle = std::move(cycles.layout);
  }
  const std::uint64_t bytes = file_bytes(file);
  file.close();
  driver.check();
  out.cut(bytes);  // rows not yet written are a hole
  return layout;
}

}  // namespace glassbowl::sim
