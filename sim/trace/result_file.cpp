#include "sim/trace/result_file.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <stdexcept>
#include <system_error>

#include "sim/api/error.hpp"
#include "sim/api/new_file.hpp"
#include "sim/output/disk_file.hpp"
#include "sim/trace/hdf5.hpp"
#include "sim/trace/hdf5_driver.hpp"
#include "sim/trace/hdf5_links.hpp"
#include "sim/trace/hdf5_scales.hpp"
#include "sim/trace/packed.hpp"
#include "sim/trace/read_in_child.hpp"
#include "sim/trace/seal.hpp"
#include "sim/trace/stored_text.hpp"
#include "sim/trace/superblock.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

template <class T>
const T& named(const std::vector<T>& list, const std::string& name) {
  const auto found = std::find_if(list.begin(), list.end(), [&](const T& t) { return t.name == name; });
  if (found == list.end()) throw std::invalid_argument("a study's result has no \"" + name + "\"");
  return *found;
}

Hdf5Handle text_type() {
  Hdf5Handle type(H5Tcopy(H5T_C_S1));
  hdf5_check(H5Tset_size(type, H5T_VARIABLE));
  hdf5_check(H5Tset_cset(type, H5T_CSET_UTF8));
  return type;
}

Hdf5Handle create(hid_t file, const std::string& name, hid_t type, hid_t space) {
  Hdf5Handle creation(H5Pcreate(H5P_DATASET_CREATE));
  hdf5_check(H5Pset_obj_track_times(creation, 0));  // the same study gives the same bytes
  return Hdf5Handle(H5Dcreate2(file, name.c_str(), type, space, H5P_DEFAULT, creation, H5P_DEFAULT));
}

Hdf5Handle space_of(const std::vector<hsize_t>& extents) {
  return extents.empty()
             ? Hdf5Handle(H5Screate(H5S_SCALAR))
             : Hdf5Handle(H5Screate_simple(static_cast<int>(extents.size()), extents.data(), nullptr));
}

Hdf5Handle write_numbers(hid_t file, const std::string& name, const std::string& unit,
                         const std::string& long_name, const std::vector<hsize_t>& extents,
                         const std::vector<double>& values) {
  std::size_t wanted = 1;
  for (const hsize_t n : extents) wanted *= n;
  if (values.size() != wanted)
    throw std::invalid_argument(
        fmt::format("\"{}\" has {} values where its axes have {}", name, values.size(), wanted));
  Hdf5Handle dataset = create(file, name, H5T_IEEE_F64LE, space_of(extents));
  hdf5_check(H5Dwrite(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data()));
  write_text(dataset, "units", unit);
  write_text(dataset, "long_name", long_name);
  return dataset;
}

Hdf5Handle write_words(hid_t file, const ResultText& text) {
  const Hdf5Handle type = text_type();
  std::vector<hsize_t> extents;
  if (!text.axis.empty()) extents.push_back(text.values.size());
  Hdf5Handle dataset = create(file, text.name, type, space_of(extents));
  std::vector<const char*> data;
  for (const auto& value : text.values) data.push_back(value.c_str());
  hdf5_check(H5Dwrite(dataset, type, H5S_ALL, H5S_ALL, H5P_DEFAULT, data.data()));
  write_text(dataset, "long_name", text.long_name);
  return dataset;
}

void write_all(const DiskFile& out, const ResultFile& r) {
  const Hdf5Session session;
  Hdf5Handle creation(H5Pcreate(H5P_FILE_CREATE));
  hdf5_check(H5Pset_link_creation_order(creation, H5P_CRT_ORDER_TRACKED | H5P_CRT_ORDER_INDEXED));
  hdf5_check(H5Pset_obj_track_times(creation, 0));
  const Hdf5Handle access = trace_access();
  const Hdf5Driver driver(out, access);
  Hdf5Handle file(H5Fcreate("study", H5F_ACC_TRUNC, creation, access));
  write_text(file, "Conventions", "CF-1.10");
  write_text(file, "title", r.title);
  write_text(file, "program", "glassbowl");
  write_text(file, "program_version", r.version);
  write_text(file, "status", r.status);
  write_text(file, "study", r.study);
  std::vector<Hdf5Handle> scales;
  for (const auto& axis : r.axes) {
    scales.push_back(
        write_numbers(file, axis.name, axis.unit, axis.long_name, {axis.values.size()}, axis.values));
    hdf5_check(H5DSset_scale(scales.back(), axis.name.c_str()));
  }
  const auto attach = [&](hid_t dataset, const std::vector<std::string>& axes) {
    for (std::size_t i = 0; i < axes.size(); ++i)
      hdf5_check(H5DSattach_scale(dataset, scales[static_cast<std::size_t>(&r.axis(axes[i]) - r.axes.data())],
                                  static_cast<unsigned>(i)));
  };
  for (const auto& v : r.variables) {
    std::vector<hsize_t> extents;
    for (const auto& name : v.axes) extents.push_back(r.axis(name).values.size());
    const Hdf5Handle dataset = write_numbers(file, v.name, v.unit, v.long_name, extents, v.values);
    attach(dataset, v.axes);
  }
  for (const auto& t : r.texts) {
    if (t.values.size() != (t.axis.empty() ? 1 : r.axis(t.axis).values.size()))
      throw std::invalid_argument("the words of \"" + t.name + "\" do not fit their axis");
    const Hdf5Handle dataset = write_words(file, t);
    if (!t.axis.empty()) attach(dataset, {t.axis});
  }
  write_words(file, {"study_inputs", "what the study was asked, JSON", "", {r.inputs}});
  write_words(file, {"case_resolved", "complete case, TOML", "", {r.case_resolved}});
  scales.clear();
  file.close();
  driver.check();
  out.cut(read_superblock_end(out));
}

std::vector<std::string> axes_of(hid_t dataset, int rank) {
  std::vector<std::string> axes;
  for (int i = 0; i < rank; ++i) axes.push_back(scale_along(dataset, static_cast<std::size_t>(i)));
  return axes;
}

void read_dataset(hid_t file, const std::string& name, ResultFile& out) {
  const Hdf5Handle dataset = open_here(file, name);
  Hdf5Handle type(H5Dget_type(dataset));
  Hdf5Handle space(H5Dget_space(dataset));
  const auto count = static_cast<std::size_t>(hdf5_check(H5Sget_simple_extent_npoints(space)));
  const int rank = H5Sget_simple_extent_ndims(space);
  if (H5Tget_class(type) == H5T_STRING) {
    if (count == 0) throw Hdf5Failure(fmt::format("'{}' holds no text", name));
    const Hdf5Handle wanted = text_type();
    std::vector<char*> data(count, nullptr);
    hdf5_check(H5Dread(dataset, wanted, H5S_ALL, H5S_ALL, H5P_DEFAULT, data.data()));
    ResultText text{name, text_attribute(dataset, "long_name"), "", {}};
    for (char* value : data) {
      text.values.emplace_back(value != nullptr ? value : "");
      H5free_memory(value);
    }
    if (name == "study_inputs") {
      out.inputs = text.values.front();
    } else if (name == "case_resolved") {
      out.case_resolved = text.values.front();
    } else {
      if (rank == 1) text.axis = axes_of(dataset, 1).front();
      out.texts.push_back(std::move(text));
    }
    return;
  }
  std::vector<double> values(count);
  hdf5_check(H5Dread(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data()));
  const std::string unit = text_attribute(dataset, "units"), meaning = text_attribute(dataset, "long_name");
  if (is_scale(dataset))
    out.axes.push_back({name, unit, meaning, std::move(values)});
  else
    out.variables.push_back({name, unit, meaning, axes_of(dataset, rank), std::move(values)});
}

[[noreturn]] void fail(const fs::path& path, const std::string& what) {
  throw Error(ErrorKind::file, fmt::format("{}: {}", path.string(), what));
}

}  // namespace

const ResultAxis& ResultFile::axis(const std::string& name) const {
  return named(axes, name);
}
const ResultVariable& ResultFile::variable(const std::string& name) const {
  return named(variables, name);
}
const ResultText& ResultFile::text(const std::string& name) const {
  return named(texts, name);
}

namespace {

ResultFile read_all(const fs::path& path) {
  ResultFile out;
  Hdf5Handle file(H5Fopen(path.c_str(), H5F_ACC_RDONLY, trace_access()));
  out.study = text_attribute(file, "study");
  if (out.study.empty()) fail(path, "holds no study");
  out.title = text_attribute(file, "title");
  out.version = text_attribute(file, "program_version");
  out.status = text_attribute(file, "status");
  for (const auto& name : names_in(file)) read_dataset(file, name, out);
  return out;
}

std::string pack(const ResultFile& result) {
  Packer to;
  const auto put_texts = [&](const std::vector<std::string>& values) {
    to.list(values, [&](const std::string& value) { to.text(value); });
  };
  const auto put_reals = [&](const std::vector<double>& values) {
    to.list(values, [&](double value) { to.real(value); });
  };
  const auto put_head = [&](const auto& array) {
    for (const auto& text : {array.name, array.unit, array.long_name}) to.text(text);
  };
  for (const auto& text :
       {result.title, result.version, result.study, result.inputs, result.case_resolved, result.status})
    to.text(text);
  to.list(result.axes, [&](const ResultAxis& axis) {
    put_head(axis);
    put_reals(axis.values);
  });
  to.list(result.variables, [&](const ResultVariable& variable) {
    put_head(variable);
    put_texts(variable.axes);
    put_reals(variable.values);
  });
  to.list(result.texts, [&](const ResultText& text) {
    for (const auto& part : {text.name, text.long_name, text.axis}) to.text(part);
    put_texts(text.values);
  });
  return to.take();
}

/// In the same order; throws std::length_error for other bytes.
ResultFile unpack(std::string_view bytes) {
  Unpacker from(bytes);
  const auto take_texts = [&] { return from.list([&] { return from.text(); }); };
  const auto take_reals = [&] { return from.list([&] { return from.real(); }); };
  const auto take_head = [&](auto& array) {
    for (std::string* text : {&array.name, &array.unit, &array.long_name}) *text = from.text();
  };
  ResultFile out;
  for (std::string* text :
       {&out.title, &out.version, &out.study, &out.inputs, &out.case_resolved, &out.status})
    *text = from.text();
  out.axes = from.list([&] {
    ResultAxis axis;
    take_head(axis);
    axis.values = take_reals();
    return axis;
  });
  out.variables = from.list([&] {
    ResultVariable variable;
    take_head(variable);
    variable.axes = take_texts();
    variable.values = take_reals();
    return variable;
  });
  out.texts = from.list([&] {
    ResultText text;
    for (std::string* part : {&text.name, &text.long_name, &text.axis}) *part = from.text();
    text.values = take_texts();
    return text;
  });
  from.end();
  return out;
}

bool has_study(const fs::path& path) {
  if (H5Fis_hdf5(path.c_str()) <= 0) return false;
  const Hdf5Handle file(H5Fopen(path.c_str(), H5F_ACC_RDONLY, trace_access()));
  return H5Aexists(file, "study") > 0;
}

}  // namespace

void write_result_file(const fs::path& target, bool force, const ResultFile& result) {
  NewFile out(target, force);
  try {
    write_all(out.file(), result);
    write_seal(out.file(), {});
  } catch (const Hdf5Failure& failure) {
    fail(target, fmt::format("cannot be written: {}", failure.what()));
  } catch (const std::system_error& failure) {
    fail(target, fmt::format("cannot be written: {}", failure.code().message()));
  }
  out.publish();
}

ResultFile read_result_file(const fs::path& path) {
  std::error_code ignored;
  if (!fs::exists(path, ignored))
    throw Error(ErrorKind::input, fmt::format("{}: there is no such file", path.string()));
  try {
    if (check_seal(path) == Seal::broken)
      fail(path, "is damaged or cut short: it differs from what was written");
    const Hdf5Session session;
    return unpack(read_in_child(path, [&] { return pack(read_all(path)); }));
  } catch (const std::length_error& failure) {
    fail(path, fmt::format("is damaged: {}", failure.what()));
  } catch (const std::system_error& failure) {
    fail(path, fmt::format("cannot be read: {}", failure.code().message()));
  }
}

bool is_result_file(const fs::path& path) {
  std::error_code ignored;
  if (!fs::is_regular_file(path, ignored)) return false;
  try {
    const Hdf5Session session;
    return !read_in_child(path, [&] { return std::string(has_study(path) ? "yes" : ""); }).empty();
  } catch (const Error&) {  // whoever reads it as a trace or a case will say what is wrong
  }
  return false;
}

}  // namespace glassbowl::sim
