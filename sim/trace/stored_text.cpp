#include "sim/trace/stored_text.hpp"

#include <algorithm>

namespace glassbowl::sim {

bool is_scalar(hid_t space) {
  return H5Sget_simple_extent_npoints(space) == 1;
}

std::string text_of(hid_t stored_type, const std::function<herr_t(hid_t, void*)>& read) {
  if (H5Tget_class(stored_type) != H5T_STRING) return {};
  Hdf5Handle type(H5Tcopy(H5T_C_S1));
  hdf5_check(H5Tset_cset(type, H5Tget_cset(stored_type)));
  if (H5Tis_variable_str(stored_type) > 0) {
    hdf5_check(H5Tset_size(type, H5T_VARIABLE));
    char* data = nullptr;
    hdf5_check(read(type, static_cast<void*>(&data)));
    std::string text(data != nullptr ? data : "");
    H5free_memory(data);
    return text;
  }
  std::string text(H5Tget_size(stored_type) + 1, '\0');
  hdf5_check(H5Tset_size(type, text.size()));
  hdf5_check(read(type, static_cast<void*>(text.data())));
  text.resize(text.find('\0'));
  return text;
}

std::string text_attribute(hid_t object, const char* name) {
  if (H5Aexists(object, name) <= 0) return {};
  Hdf5Handle attribute(H5Aopen(object, name, H5P_DEFAULT));
  Hdf5Handle space(H5Aget_space(attribute));
  if (!is_scalar(space)) return {};
  Hdf5Handle type(H5Aget_type(attribute));
  return text_of(type, [&](hid_t memory, void* data) { return H5Aread(attribute, memory, data); });
}

void write_text(hid_t object, const char* name, std::string_view text, std::size_t room) {
  Hdf5Handle type(H5Tcopy(H5T_C_S1));
  std::string padded(text);
  padded.resize(std::max(room, text.size() + 1), '\0');
  hdf5_check(H5Tset_size(type, padded.size()));
  hdf5_check(H5Tset_cset(type, H5T_CSET_UTF8));
  Hdf5Handle space(H5Screate(H5S_SCALAR));
  Hdf5Handle attribute(H5Acreate2(object, name, type, space, H5P_DEFAULT, H5P_DEFAULT));
  hdf5_check(H5Awrite(attribute, type, padded.data()));
}

}  // namespace glassbowl::sim
