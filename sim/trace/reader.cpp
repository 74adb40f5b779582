#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <system_error>

#include "sim/api/error.hpp"
#include "sim/api/trace.hpp"
#include "sim/trace/hdf5.hpp"
#include "sim/trace/scales.hpp"
#include "sim/trace/seal.hpp"
#include "sim/trace/stored_text.hpp"
#include "sim/trace/trial.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

[[noreturn]] void fail(const fs::path& path, const std::string& message) {
  throw Error(ErrorKind::file, fmt::format("{}: {}", path.string(), message));
}

/// Opens for reading; tells the ways in which a file can be no trace apart.
Hdf5Handle open_file(const fs::path& path) {
  std::error_code ignored;
  if (!fs::exists(path, ignored)) fail(path, "no such file");
  if (fs::is_directory(path, ignored)) fail(path, "is a folder, not a trace");
  const Hdf5Handle access = trace_access();
  const hid_t file = H5Fopen(path.c_str(), H5F_ACC_RDONLY, access);
  if (file >= 0) return Hdf5Handle(file);
  const std::string reason = hdf5_reason();
  if (reason.find("truncated") != std::string::npos) fail(path, "is cut short: its end is missing");
  if (reason.find("Permission denied") != std::string::npos) fail(path, "no permission to read it");
  if (fs::is_regular_file(path, ignored) && fs::file_size(path, ignored) == 0) fail(path, "is empty");
  if (H5Fis_hdf5(path.c_str()) <= 0) fail(path, "is not an HDF5 file");
  fail(path, fmt::format("is damaged: {}", reason));
}

bool is_number(hid_t type) {
  const H5T_class_t kind = H5Tget_class(type);
  return kind == H5T_FLOAT || kind == H5T_INTEGER;
}

/// Rows of a 1-D dataset of numbers; nothing for any other.
std::optional<std::size_t> length_of(hid_t dataset) {
  Hdf5Handle type(H5Dget_type(dataset));
  Hdf5Handle space(H5Dget_space(dataset));
  if (!is_number(type) || H5Sget_simple_extent_ndims(space) != 1) return std::nullopt;
  hsize_t rows = 0;
  hdf5_check(H5Sget_simple_extent_dims(space, &rows, nullptr));
  return static_cast<std::size_t>(rows);
}

std::size_t read_rows(hid_t dataset, std::size_t first, std::span<double> values) {
  if (values.empty()) return 0;
  const hsize_t start = first;
  const hsize_t count = values.size();
  Hdf5Handle file_space(H5Dget_space(dataset));
  hdf5_check(H5Sselect_hyperslab(file_space, H5S_SELECT_SET, &start, nullptr, &count, nullptr));
  Hdf5Handle memory_space(H5Screate_simple(1, &count, nullptr));
  hdf5_check(H5Dread(dataset, H5T_NATIVE_DOUBLE, memory_space, file_space, H5P_DEFAULT, values.data()));
  return values.size();
}

/// Rows written so far: those before the first NaN of the scale, found by halving.
std::size_t written_rows(hid_t scale, std::size_t extent) {
  std::size_t written = 0;
  std::size_t end = extent;
  while (written < end) {
    const std::size_t middle = written + (end - written) / 2;
    double value = 0.0;
    read_rows(scale, middle, {&value, 1});
    if (std::isnan(value)) {
      end = middle;
    } else {
      written = middle + 1;
    }
  }
  return written;
}

herr_t collect_name(hid_t /*group*/, const char* name, const H5L_info_t* /*info*/, void* names) {
  static_cast<std::vector<std::string>*>(names)->emplace_back(name);
  return 0;
}

std::vector<std::string> names_in(hid_t file) {
  std::vector<std::string> names;
  if (H5Literate(file, H5_INDEX_CRT_ORDER, H5_ITER_INC, nullptr, collect_name, &names) < 0) {
    names.clear();  // rewritten by a tool that keeps no order
    hdf5_check(H5Literate(file, H5_INDEX_NAME, H5_ITER_INC, nullptr, collect_name, &names));
  }
  return names;
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

}  // namespace

struct TraceReader::State {
  struct Place {
    Dimension dimension;
    std::size_t index;  // in the channels of that dimension
  };

  fs::path path;
  std::vector<Channel> time_channels;
  std::vector<Channel> cycle_channels;
  std::map<std::string, Place, std::less<>> places;
  std::size_t rows = 0;
  std::size_t cycles = 0;
  std::string title;
  std::string version;
  std::string case_resolved;
  std::string status;
  std::vector<std::pair<std::string, double>> summary;

  explicit State(fs::path the_path) : path(std::move(the_path)) {}

  fs::path found() const;
  void load(bool known);
  void probe() const;
  void load_file(hid_t file);
  std::size_t load_scale(hid_t scale, const char* name) const;
  void load_case(hid_t file);
  void load_channel(hid_t file, const std::string& name);
  Hdf5Handle open_scale(hid_t file, const char* name) const;
  Dimension dimension_of(std::string_view name) const;
  std::size_t length(std::string_view name) const;
};

/// Where the file is now: a run that ended has taken ".partial" off its name.
fs::path TraceReader::State::found() const {
  std::error_code ignored;
  if (path.extension() != ".partial" || fs::exists(path, ignored)) return path;
  fs::path finished = path;
  finished.replace_extension();
  return fs::exists(finished, ignored) ? finished : path;
}

Hdf5Handle TraceReader::State::open_scale(hid_t file, const char* name) const {
  const hid_t scale = H5Lexists(file, name, H5P_DEFAULT) > 0 ? H5Dopen2(file, name, H5P_DEFAULT) : -1;
  if (scale < 0 || !is_scale(scale)) {
    fail(path, fmt::format("is HDF5 but not a trace of this program: it has no scale '{}'", name));
  }
  return Hdf5Handle(scale);
}

std::size_t TraceReader::State::load_scale(hid_t scale, const char* name) const {
  const std::optional<std::size_t> extent = length_of(scale);
  if (!extent) fail(path, fmt::format("is not a trace of this program: '{}' is no list of numbers", name));
  return written_rows(scale, *extent);
}

void TraceReader::State::load_case(hid_t file) {
  const hid_t id =
      H5Lexists(file, "case_resolved", H5P_DEFAULT) > 0 ? H5Dopen2(file, "case_resolved", H5P_DEFAULT) : -1;
  if (id < 0) fail(path, "is HDF5 but not a trace of this program: it has no 'case_resolved'");
  const Hdf5Handle dataset(id);
  const Hdf5Handle type(H5Dget_type(dataset));
  const Hdf5Handle space(H5Dget_space(dataset));
  if (!is_scalar(space)) fail(path, "is damaged: 'case_resolved' is not one text");
  case_resolved = text_of(type, [&](hid_t memory, void* data) {
    return H5Dread(dataset, memory, H5S_ALL, H5S_ALL, H5P_DEFAULT, data);
  });
}

void TraceReader::State::load_channel(hid_t file, const std::string& name) {
  const Hdf5Handle object(H5Oopen(file, name.c_str(), H5P_DEFAULT));
  if (H5Iget_type(object) != H5I_DATASET || is_scale(object)) return;
  const std::optional<std::size_t> extent = length_of(object);
  if (!extent) return;
  const std::string scale = scale_along(object, 0);
  const bool along_time = scale == "time";
  if (!along_time && scale != "cycle") return;
  if (*extent < (along_time ? rows : cycles)) {
    fail(path, fmt::format("is damaged: '{}' has fewer rows than its scale", name));
  }
  const Hdf5Handle type(H5Dget_type(object));
  auto& channels = along_time ? time_channels : cycle_channels;
  places.emplace(name, Place{along_time ? Dimension::time : Dimension::cycle, channels.size()});
  channels.push_back({name, text_attribute(object, "units"), text_attribute(object, "long_name"),
                      text_attribute(object, "part"), H5Tget_size(type) > sizeof(float)});
}

void TraceReader::State::load_file(hid_t file) {
  const Hdf5Handle time = open_scale(file, "time");
  const Hdf5Handle cycle = open_scale(file, "cycle");
  load_case(file);
  rows = load_scale(time, "time");
  cycles = load_scale(cycle, "cycle");
  for (const std::string& name : names_in(file)) load_channel(file, name);
  title = text_attribute(file, "title");
  version = text_attribute(file, "program_version");
  status = text_attribute(file, "status");
  hdf5_check(H5Aiterate2(file, H5_INDEX_NAME, H5_ITER_INC, nullptr, collect_number, &summary));
}

/// All that reading will do, for an unknown file: with its index of every channel walked to its ends.
void TraceReader::State::probe() const {
  State trial(path);
  const Hdf5Handle file = open_file(found());
  trial.load_file(file);
  std::vector<std::string> names{"time", "cycle"};
  for (const auto& [name, place] : trial.places) names.push_back(name);
  for (const std::string& name : names) {
    const Hdf5Handle dataset(H5Dopen2(file, name.c_str(), H5P_DEFAULT));
    H5Dget_storage_size(dataset);
    const std::size_t length = trial.length(name);
    double value = 0.0;
    for (const std::size_t row : {std::size_t{0}, length / 2, length - 1})
      if (row < length) read_rows(dataset, row, {&value, 1});
  }
}

/// `known`: the file was read before and has only grown since.
void TraceReader::State::load(bool known) {
  const Hdf5Session session;
  try {
    const fs::path file_now = found();
    if (!known) {
      std::error_code ignored;
      if (fs::is_regular_file(file_now, ignored) && check_seal(file_now) == Seal::broken)
        fail(path, "is damaged or cut short: it differs from what was written");
      try_reading(path, [this] { probe(); });
    }
    const Hdf5Handle file = open_file(file_now);
    load_file(file);
  } catch (const Hdf5Failure& failure) {
    fail(path, fmt::format("is damaged: {}", failure.what()));
  } catch (const std::system_error& failure) {
    fail(path, fmt::format("cannot be read: {}", failure.code().message()));
  }
}

Dimension TraceReader::State::dimension_of(std::string_view name) const {
  if (name == "time") return Dimension::time;
  if (name == "cycle") return Dimension::cycle;
  const auto place = places.find(name);
  if (place == places.end()) fail(path, fmt::format("this trace has no channel '{}'", name));
  return place->second.dimension;
}

std::size_t TraceReader::State::length(std::string_view name) const {
  return dimension_of(name) == Dimension::time ? rows : cycles;
}

TraceReader::TraceReader(std::filesystem::path path) : state_(std::make_unique<State>(std::move(path))) {
  state_->load(false);
}

TraceReader::~TraceReader() = default;
TraceReader::TraceReader(TraceReader&&) noexcept = default;
TraceReader& TraceReader::operator=(TraceReader&&) noexcept = default;

const std::vector<Channel>& TraceReader::channels(Dimension dimension) const {
  return dimension == Dimension::time ? state_->time_channels : state_->cycle_channels;
}

bool TraceReader::has(std::string_view name) const {
  return name == "time" || name == "cycle" || state_->places.contains(name);
}

const Channel& TraceReader::channel(std::string_view name) const {
  const auto place = state_->places.find(name);
  if (place == state_->places.end()) fail(state_->path, fmt::format("this trace has no channel '{}'", name));
  return channels(place->second.dimension)[place->second.index];
}

Dimension TraceReader::dimension(std::string_view name) const {
  return state_->dimension_of(name);
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
  // Opened anew each time: a file held open would show a writer in this process its own stale copy of the
  // structure, and the other way round.
  const Hdf5Session session;
  try {
    const Hdf5Handle file = open_file(state_->found());
    const Hdf5Handle dataset(H5Dopen2(file, std::string(name).c_str(), H5P_DEFAULT));
    return read_rows(dataset, first, values.first(std::min(values.size(), length - first)));
  } catch (const Hdf5Failure& failure) {
    fail(state_->path, fmt::format("cannot read '{}': {}", name, failure.what()));
  }
}

const std::string& TraceReader::title() const {
  return state_->title;
}

const std::string& TraceReader::program_version() const {
  return state_->version;
}

const std::string& TraceReader::case_resolved() const {
  return state_->case_resolved;
}

const std::string& TraceReader::status() const {
  return state_->status;
}

bool TraceReader::complete() const {
  return state_->status == "complete";
}

const std::vector<std::pair<std::string, double>>& TraceReader::summary() const {
  return state_->summary;
}

void TraceReader::refresh() {
  auto fresh = std::make_unique<State>(state_->path);
  fresh->load(true);
  state_ = std::move(fresh);
}

}  // namespace glassbowl::sim
