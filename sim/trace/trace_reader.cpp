#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <map>
#include <system_error>

#include "sim/api/error.hpp"
#include "sim/api/trace.hpp"
#include "sim/cases/input_file.hpp"
#include "sim/output/disk_file.hpp"
#include "sim/trace/seal.hpp"
#include "sim/trace/trace_index.hpp"
#include "sim/trace/unpack_limits.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

static_assert(std::endian::native == std::endian::little, "values are read as they lie in the file");

[[noreturn]] void fail(const fs::path& path, const std::string& message) {
  throw Error(ErrorKind::file, fmt::format("{}: {}", path.string(), message));
}

DiskFile open_file(const fs::path& path, const fs::path& named) {
  std::error_code ignored;
  if (!fs::exists(path, ignored)) fail(named, "no such file");
  if (const auto kind = other_than_a_file(path); !kind.empty()) fail(named, "is " + kind + ", not a trace");
  try {
    DiskFile file = DiskFile::open_to_read(path);
    if (file.size() == 0) fail(named, "is empty");
    return file;
  } catch (const std::system_error& failure) {
    if (failure.code() == std::errc::permission_denied) fail(named, "no permission to read it");
    throw;
  }
}

/// Values of a plain column from row `first` on, all of which the file says it has.
void read_plain(const DiskFile& file, const TraceIndex::Column& column, std::size_t first,
                std::span<double> values) {
  std::vector<float> narrow;
  while (!values.empty()) {
    const std::size_t within = first % column.chunk_rows;
    const auto here = values.first(std::min<std::size_t>(values.size(), column.chunk_rows - within));
    const std::uint64_t chunk = column.addresses[first / column.chunk_rows];
    const auto at = static_cast<off_t>(chunk + within * column.value_bytes());
    if (chunk == TraceIndex::nowhere) {
      std::fill(here.begin(), here.end(), NAN);
    } else if (column.channel.wide) {
      file.read_at(here.data(), here.size_bytes(), at);
    } else {
      narrow.resize(here.size());
      file.read_at(narrow.data(), narrow.size() * sizeof(float), at);
      std::copy(narrow.begin(), narrow.end(), here.begin());
    }
    values = values.subspan(here.size());
    first += here.size();
  }
}

}  // namespace

struct TraceReader::State {
  fs::path path;    // as the user named it
  fs::path opened;  // where it was found
  DiskFile file;
  TraceIndex index;
  std::vector<Channel> time_channels;
  std::vector<Channel> cycle_channels;
  std::map<std::string, const TraceIndex::Column*, std::less<>> columns;  // of the index, by name
  std::size_t rows = 0;
  std::size_t cycles = 0;
  std::uint64_t bytes = 0;  // of the file when it was indexed
  // Columns that are not plain, whole, as soon as one row is asked for: a chunk is unpacked once.
  mutable std::map<const TraceIndex::Column*, std::vector<double>> unpacked;

  State(fs::path the_path, bool known);

  fs::path found() const;
  void open(bool known);
  void put_in_place();
  void count_rows();
  void read(const TraceIndex::Column& column, std::size_t first, std::span<double> values) const;
  const std::vector<double>& unpack(const TraceIndex::Column& column) const;
  std::size_t written_rows(const TraceIndex::Column& scale) const;
  bool is_current() const { return found() == opened && file.is_at(opened) && file.size() == bytes; }
  const TraceIndex::Column& column(std::string_view name) const;
  std::size_t length(std::string_view name) const {
    return column(name).dimension == Dimension::time ? rows : cycles;
  }
};

/// Where the file is now: a run that ended has taken ".partial" off its name.
fs::path TraceReader::State::found() const {
  std::error_code ignored;
  if (path.extension() != ".partial" || fs::exists(path, ignored)) return path;
  fs::path finished = path;
  finished.replace_extension();
  return fs::exists(finished, ignored) ? finished : path;
}

/// `known`: the file was read before and has only grown since.
TraceReader::State::State(fs::path the_path, bool known) : path(std::move(the_path)) {
  try {
    constexpr int most_attempts = 3;
    for (int attempt = 1;; ++attempt) {
      try {
        open(known);
        put_in_place();
        count_rows();
        if (is_current()) break;  // else another was put in its place just now, or it was finished
      } catch (const Error&) {
        if (attempt == most_attempts || is_current()) throw;
      } catch (const std::system_error&) {
        if (attempt == most_attempts || is_current()) throw;
      }
      if (attempt == most_attempts) fail(path, "is replaced by another file again and again");
    }
  } catch (const std::system_error& failure) {
    fail(path, fmt::format("cannot be read: {}", failure.code().message()));
  }
}

void TraceReader::State::open(bool known) {
  columns.clear();
  unpacked.clear();
  time_channels.clear();
  cycle_channels.clear();
  opened = found();
  file = open_file(opened, path);
  bytes = file.size();
  if (!known && check_seal(opened) == Seal::broken)
    fail(path, "is damaged or cut short: it differs from what was written");
  index = index_trace(opened, path);
}

void TraceReader::State::put_in_place() {
  std::uint64_t in_memory = 0;
  const auto add = [&](const TraceIndex::Column& column) {
    in_memory += column.length * (column.plain ? column.value_bytes() : sizeof(double));
    if (in_memory > most_unpacked(bytes))
      fail(path, fmt::format("is refused: its {:.3g} MiB would unpack to more than {:.0f} MiB",
                             static_cast<double>(bytes) / (1 << 20),
                             static_cast<double>(most_unpacked(bytes)) / (1 << 20)));
    std::uint64_t left = column.length, taken = 0;
    for (const std::uint64_t address : column.addresses) {
      const std::uint64_t wanted = std::min(left, column.chunk_rows) * column.value_bytes();
      left -= std::min(left, column.chunk_rows);
      if (address == TraceIndex::nowhere) continue;
      taken += wanted;
      if (address > bytes || wanted > bytes - address || taken > bytes)
        fail(path, fmt::format("is damaged: '{}' would lie beyond its end", column.channel.name));
    }
    columns.emplace(column.channel.name, &column);
  };
  add(index.time);
  add(index.cycle);
  for (const TraceIndex::Column& column : index.channels) {
    add(column);
    (column.dimension == Dimension::time ? time_channels : cycle_channels).push_back(column.channel);
  }
}

void TraceReader::State::read(const TraceIndex::Column& column, std::size_t first,
                              std::span<double> values) const {
  if (first > column.length || values.size() > column.length - first)
    fail(path, fmt::format("is damaged: '{}' has fewer rows than its scale", column.channel.name));
  if (column.plain) return read_plain(file, column, first, values);
  const auto& all = unpack(column);
  std::copy_n(all.begin() + static_cast<std::ptrdiff_t>(first), values.size(), values.begin());
}

const std::vector<double>& TraceReader::State::unpack(const TraceIndex::Column& column) const {
  const auto known = unpacked.find(&column);
  if (known != unpacked.end()) return known->second;
  constexpr std::uint64_t most_at_once = most_chunk_bytes / sizeof(double);
  const std::uint64_t chunk = std::clamp<std::uint64_t>(column.chunk_rows, 1, most_at_once),
                      at_once = most_at_once / chunk * chunk;
  std::vector<double> all;
  while (all.size() < column.length) {
    const auto some = read_in_child(opened, path, column, all.size(),
                                    std::min<std::uint64_t>(at_once, column.length - all.size()));
    all.insert(all.end(), some.begin(), some.end());
  }
  return unpacked.emplace(&column, std::move(all)).first->second;
}

/// Rows written so far: those before the first NaN of the scale, found by halving.
std::size_t TraceReader::State::written_rows(const TraceIndex::Column& scale) const {
  std::size_t written = 0;
  std::size_t end = scale.length;
  while (written < end) {
    const std::size_t middle = written + (end - written) / 2;
    double value = 0.0;
    read(scale, middle, {&value, 1});
    if (std::isnan(value)) {
      end = middle;
    } else {
      written = middle + 1;
    }
  }
  return written;
}

void TraceReader::State::count_rows() {
  rows = written_rows(index.time);
  cycles = written_rows(index.cycle);
  for (const TraceIndex::Column& column : index.channels)
    if (column.length < (column.dimension == Dimension::time ? rows : cycles))
      fail(path, fmt::format("is damaged: '{}' has fewer rows than its scale", column.channel.name));
}

const TraceIndex::Column& TraceReader::State::column(std::string_view name) const {
  const auto found = columns.find(name);
  if (found == columns.end()) fail(path, fmt::format("this trace has no channel '{}'", name));
  return *found->second;
}

TraceReader::TraceReader(std::filesystem::path path)
    : state_(std::make_unique<State>(std::move(path), false)) {}

TraceReader::~TraceReader() = default;
TraceReader::TraceReader(TraceReader&&) noexcept = default;
TraceReader& TraceReader::operator=(TraceReader&&) noexcept = default;

const std::vector<Channel>& TraceReader::channels(Dimension dimension) const {
  return dimension == Dimension::time ? state_->time_channels : state_->cycle_channels;
}

bool TraceReader::has(std::string_view name) const {
  return state_->columns.contains(name);
}

const Channel& TraceReader::channel(std::string_view name) const {
  return state_->column(name).channel;
}

Dimension TraceReader::dimension(std::string_view name) const {
  return state_->column(name).dimension;
}

std::size_t TraceReader::rows() const {
  return state_->rows;
}

std::size_t TraceReader::cycles() const {
  return state_->cycles;
}

std::vector<double> TraceReader::read(std::string_view name, std::size_t first, std::size_t count) const {
  const std::size_t length = state_->length(name);
  std::vector<double> values(first < length ? std::min(count, length - first) : 0);
  read_into(name, first, values);
  return values;
}

std::size_t TraceReader::read_into(std::string_view name, std::size_t first, std::span<double> values) const {
  const std::size_t length = state_->length(name);
  if (first >= length || values.empty()) return 0;
  const auto there = values.first(std::min(values.size(), length - first));
  try {
    state_->read(state_->column(name), first, there);
  } catch (const std::system_error& failure) {
    fail(state_->path, fmt::format("cannot read '{}': {}", name, failure.code().message()));
  }
  return there.size();
}

const std::string& TraceReader::title() const {
  return state_->index.title;
}

const std::string& TraceReader::program_version() const {
  return state_->index.version;
}

const std::string& TraceReader::case_resolved() const {
  return state_->index.case_resolved;
}

const std::string& TraceReader::status() const {
  return state_->index.status;
}

bool TraceReader::complete() const {
  return status() == "complete";
}

const std::vector<std::pair<std::string, double>>& TraceReader::summary() const {
  return state_->index.summary;
}

void TraceReader::refresh() {
  if (!state_->is_current()) {
    state_ = std::make_unique<State>(state_->path, true);
    return;
  }
  try {
    state_->count_rows();
  } catch (const std::system_error&) {  // cut to its rows just now, as a run does that ends
    state_ = std::make_unique<State>(state_->path, true);
  }
}

}  // namespace glassbowl::sim
