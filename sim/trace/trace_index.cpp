#include "sim/trace/trace_index.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "sim/api/error.hpp"
#include "sim/trace/hdf5.hpp"
#include "sim/trace/hdf5_links.hpp"
#include "sim/trace/hdf5_scales.hpp"
#include "sim/trace/packed.hpp"
#include "sim/trace/read_in_child.hpp"
#include "sim/trace/stored_text.hpp"
#include "sim/trace/unpack_limits.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

[[noreturn]] void fail(const fs::path& path, const std::string& message) {
  throw Error(ErrorKind::file, fmt::format("{}: {}", path.string(), message));
}

/// Tells the ways in which a file can be no trace apart.
Hdf5Handle open_file(const fs::path& path, const fs::path& named) {
  const Hdf5Handle access = trace_access();
  const hid_t file = H5Fopen(path.c_str(), H5F_ACC_RDONLY, access);
  if (file >= 0) return Hdf5Handle(file);
  const std::string reason = hdf5_reason();
  if (reason.find("truncated") != std::string::npos) fail(named, "is cut short: its end is missing");
  if (H5Fis_hdf5(path.c_str()) <= 0) fail(named, "is not an HDF5 file");
  throw Hdf5Failure(reason);
}

bool is_number(hid_t type) {
  const H5T_class_t kind = H5Tget_class(type);
  return kind == H5T_FLOAT || kind == H5T_INTEGER;
}

/// Rows of a 1-D dataset of numbers; nothing for any other.
std::optional<std::uint64_t> length_of(hid_t dataset) {
  const Hdf5Handle type(H5Dget_type(dataset));
  const Hdf5Handle space(H5Dget_space(dataset));
  if (!is_number(type) || H5Sget_simple_extent_ndims(space) != 1) return std::nullopt;
  hsize_t rows = 0;
  hdf5_check(H5Sget_simple_extent_dims(space, &rows, nullptr));
  return rows;
}

herr_t collect_number(hid_t object, const char* name, const H5A_info_t* /*info*/, void* numbers) {
  const hid_t attribute = H5Aopen(object, name, H5P_DEFAULT);
  if (attribute < 0) return -1;
  const Hdf5Handle owner(attribute);
  const Hdf5Handle type(H5Aget_type(attribute));
  const Hdf5Handle space(H5Aget_space(attribute));
  double value = 0.0;
  if (is_number(type) && is_scalar(space) && H5Aread(attribute, H5T_NATIVE_DOUBLE, &value) >= 0 &&
      !std::isnan(value)) {
    static_cast<std::vector<std::pair<std::string, double>>*>(numbers)->emplace_back(name, value);
  }
  return 0;
}

/// Reads the index, in the child.
class Indexer {
 public:
  Indexer(const fs::path& path, const fs::path& named) : named_(named), file_(open_file(path, named)) {
    const Hdf5Handle creation(H5Fget_create_plist(file_));
    hsize_t before = 0;
    hdf5_check(H5Pget_userblock(creation, &before));
    begins_late_ = before != 0;
  }

  TraceIndex index() {
    TraceIndex out;
    out.time = scale("time", Dimension::time);
    out.cycle = scale("cycle", Dimension::cycle);
    out.case_resolved = resolved_case();
    for (const std::string& name : names_in(file_)) add_channel(name, out);
    out.title = text_attribute(file_, "title");
    out.version = text_attribute(file_, "program_version");
    out.status = text_attribute(file_, "status");
    hdf5_check(H5Aiterate2(file_, H5_INDEX_NAME, H5_ITER_INC, nullptr, collect_number, &out.summary));
    return out;
  }

 private:
  TraceIndex::Column scale(const char* name, Dimension dimension) const {
    if (!lies_in(file_, name))
      fail(named_, fmt::format("is HDF5 but not a trace of this program: it has no scale '{}'", name));
    const Hdf5Handle dataset = open_here(file_, name);
    if (H5Iget_type(dataset) != H5I_DATASET || !is_scale(dataset))
      fail(named_, fmt::format("is HDF5 but not a trace of this program: it has no scale '{}'", name));
    const auto length = length_of(dataset);
    if (!length)
      fail(named_, fmt::format("is not a trace of this program: '{}' is no list of numbers", name));
    return column(dataset, name, dimension, *length);
  }

  std::string resolved_case() const {
    if (!lies_in(file_, "case_resolved"))
      fail(named_, "is HDF5 but not a trace of this program: it has no 'case_resolved'");
    const Hdf5Handle dataset = open_here(file_, "case_resolved");
    const Hdf5Handle type(H5Dget_type(dataset));
    const Hdf5Handle space(H5Dget_space(dataset));
    if (!is_scalar(space)) fail(named_, "is damaged: 'case_resolved' is not one text");
    return text_of(type, [&](hid_t memory, void* data) {
      return H5Dread(dataset, memory, H5S_ALL, H5S_ALL, H5P_DEFAULT, data);
    });
  }

  void add_channel(const std::string& name, TraceIndex& out) const {
    const Hdf5Handle object = open_here(file_, name);
    if (H5Iget_type(object) != H5I_DATASET || is_scale(object)) return;
    const auto length = length_of(object);
    if (!length) return;
    const std::string along = scale_along(object, 0);
    if (along != "time" && along != "cycle") return;
    out.channels.push_back(
        column(object, name, along == "time" ? Dimension::time : Dimension::cycle, *length));
  }

  TraceIndex::Column column(hid_t dataset, const std::string& name, Dimension dimension,
                            std::uint64_t length) const {
    const Hdf5Handle type(H5Dget_type(dataset));
    TraceIndex::Column out;
    out.channel = {name, text_attribute(dataset, "units"), text_attribute(dataset, "long_name"),
                   text_attribute(dataset, "part"), H5Tequal(type, H5T_IEEE_F64LE) > 0};
    out.dimension = dimension;
    out.length = length;
    if (length > TraceIndex::most_rows)
      fail(named_, fmt::format("is damaged: '{}' has {} rows, more than the {} that any run can have", name,
                               length, TraceIndex::most_rows));
    out.plain = (out.channel.wide || H5Tequal(type, H5T_IEEE_F32LE) > 0) && locate(dataset, out);
    if (!out.plain) out.chunk_rows = unpacked_together(dataset, name, H5Tget_size(type));
    return out;
  }

  /// Rows of a chunk, or 1 where they can be read one by one.
  std::uint64_t unpacked_together(hid_t dataset, const std::string& name, std::uint64_t value_bytes) const {
    const Hdf5Handle creation(H5Dget_create_plist(dataset));
    if (H5Pget_layout(creation) != H5D_CHUNKED) return 1;
    hsize_t chunk = 0;
    hdf5_check(H5Pget_chunk(creation, 1, &chunk));
    if (chunk > most_chunk_bytes / std::max<std::uint64_t>(value_bytes, sizeof(double)))
      fail(named_,
           fmt::format("'{}' is stored in chunks of {} rows, too large to be unpacked; store it in chunks "
                       "of at most {} MiB",
                       name, chunk, most_chunk_bytes >> 20));
    return std::max<hsize_t>(chunk, 1);
  }

  /// False where the values are not simply there.
  bool locate(hid_t dataset, TraceIndex::Column& out) const {
    const Hdf5Handle creation(H5Dget_create_plist(dataset));
    const H5D_layout_t layout = H5Pget_layout(creation);
    if (H5Pget_nfilters(creation) != 0 || begins_late_) return false;
    if (layout == H5D_CONTIGUOUS) {
      out.chunk_rows = std::max<std::uint64_t>(out.length, 1);
      if (out.length > 0) out.addresses.push_back(H5Dget_offset(dataset));
      return true;
    }
    if (layout != H5D_CHUNKED) return false;
    hsize_t chunk = 0;
    hdf5_check(H5Pget_chunk(creation, 1, &chunk));
    if (chunk == 0 || out.length / chunk >= TraceIndex::most_chunks) return false;
    out.chunk_rows = chunk;
    for (hsize_t first = 0; first < out.length; first += chunk) {
      unsigned filters = 0;
      haddr_t address = HADDR_UNDEF;
      hsize_t bytes = 0;
      hdf5_check(H5Dget_chunk_info_by_coord(dataset, &first, &filters, &address, &bytes));
      if (address != HADDR_UNDEF && bytes != chunk * out.value_bytes())
        fail(named_,
             fmt::format("is damaged: a piece of '{}' has not the length it should have", out.channel.name));
      out.addresses.push_back(address);
    }
    return true;
  }

  const fs::path& named_;
  Hdf5Handle file_;
  bool begins_late_ = false;  // behind bytes of another program, from where addresses may count
};

void put(Packer& to, const TraceIndex::Column& column) {
  const Channel& c = column.channel;
  for (const auto& text : {c.name, c.unit, c.long_name, c.part}) to.text(text);
  for (const bool yes : {c.wide, column.dimension == Dimension::cycle, column.plain}) to.number(yes);
  to.number(column.length);
  to.number(column.chunk_rows);
  to.list(column.addresses, [&](std::uint64_t address) { to.number(address); });
}

TraceIndex::Column take_column(Unpacker& from) {
  TraceIndex::Column out;
  Channel& c = out.channel;
  for (std::string* text : {&c.name, &c.unit, &c.long_name, &c.part}) *text = from.text();
  c.wide = from.number() != 0;
  out.dimension = from.number() != 0 ? Dimension::cycle : Dimension::time;
  out.plain = from.number() != 0;
  out.length = from.number();
  out.chunk_rows = from.number();
  out.addresses = from.list([&] { return from.number(); });
  const bool enough = !out.plain || out.length == 0 ||
                      (out.chunk_rows > 0 && (out.length - 1) / out.chunk_rows < out.addresses.size());
  if (out.length > TraceIndex::most_rows || !enough)
    throw std::length_error("a column has fewer chunks than rows");
  return out;
}

}  // namespace

std::string pack(const TraceIndex& index) {
  Packer to;
  for (const auto& text : {index.title, index.version, index.status, index.case_resolved}) to.text(text);
  to.list(index.summary, [&](const auto& named) {
    to.text(named.first);
    to.real(named.second);
  });
  put(to, index.time);
  put(to, index.cycle);
  to.list(index.channels, [&](const TraceIndex::Column& column) { put(to, column); });
  return to.take();
}

TraceIndex unpack_trace_index(std::string_view bytes) {
  Unpacker from(bytes);
  TraceIndex out;
  for (std::string* text : {&out.title, &out.version, &out.status, &out.case_resolved}) *text = from.text();
  out.summary = from.list([&] {
    std::string name = from.text();
    return std::pair(std::move(name), from.real());
  });
  out.time = take_column(from);
  out.cycle = take_column(from);
  out.channels = from.list([&] { return take_column(from); });
  from.end();
  bool sound = out.time.dimension == Dimension::time && out.time.channel.name == "time" &&
               out.cycle.dimension == Dimension::cycle && out.cycle.channel.name == "cycle";
  for (const auto& column : out.channels)
    sound = sound && column.channel.name != "time" && column.channel.name != "cycle";
  if (!sound) throw std::length_error("the scales are not what they should be");
  return out;
}

TraceIndex index_trace(const fs::path& file, const fs::path& named) {
  const Hdf5Session session;
  const std::string handed = read_in_child(named, [&] { return pack(Indexer(file, named).index()); });
  try {
    return unpack_trace_index(handed);
  } catch (const std::length_error& failure) {
    fail(named, fmt::format("is damaged: {}", failure.what()));
  }
}

std::vector<double> read_in_child(const fs::path& file, const fs::path& named,
                                  const TraceIndex::Column& column, std::uint64_t first,
                                  std::uint64_t count) {
  const Hdf5Session session;
  const std::string handed = read_in_child(named, [&] {
    const Hdf5Handle opened = open_file(file, named);
    const Hdf5Handle dataset = open_here(opened, column.channel.name);
    const hsize_t begin = first, rows = count;
    const Hdf5Handle there(H5Dget_space(dataset)), here(H5Screate_simple(1, &rows, nullptr));
    hdf5_check(H5Sselect_hyperslab(there, H5S_SELECT_SET, &begin, nullptr, &rows, nullptr));
    std::vector<double> values(count);
    hdf5_check(H5Dread(dataset, H5T_NATIVE_DOUBLE, here, there, H5P_DEFAULT, values.data()));
    Packer to;
    to.list(values, [&](double value) { to.real(value); });
    return to.take();
  });
  try {
    Unpacker from(handed);
    std::vector<double> values = from.list([&] { return from.real(); });
    if (values.size() != count) throw std::length_error("other rows than there should be");
    return values;
  } catch (const std::length_error& failure) {
    fail(named, fmt::format("cannot read '{}': {}", column.channel.name, failure.what()));
  }
}

}  // namespace glassbowl::sim
