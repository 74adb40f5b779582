#include "sim/trace/hdf5_links.hpp"

namespace glassbowl::sim {
namespace {

herr_t collect(hid_t /*group*/, const char* name, const H5L_info_t* link, void* names) {
  if (link->type == H5L_TYPE_HARD) static_cast<std::vector<std::string>*>(names)->emplace_back(name);
  return 0;
}

}  // namespace

std::vector<std::string> names_in(hid_t file) {
  std::vector<std::string> names;
  if (H5Literate(file, H5_INDEX_CRT_ORDER, H5_ITER_INC, nullptr, collect, &names) < 0) {
    names.clear();
    hdf5_check(H5Literate(file, H5_INDEX_NAME, H5_ITER_INC, nullptr, collect, &names));
  }
  return names;
}

bool lies_in(hid_t file, const char* name) {
  H5L_info_t link{};
  return H5Lexists(file, name, H5P_DEFAULT) > 0 && H5Lget_info(file, name, &link, H5P_DEFAULT) >= 0 &&
         link.type == H5L_TYPE_HARD;
}

Hdf5Handle open_here(hid_t file, const std::string& name) {
  if (!lies_in(file, name.c_str())) throw Hdf5Failure("'" + name + "' is not in the file itself");
  Hdf5Handle object(H5Oopen(file, name.c_str(), H5P_DEFAULT));
  if (H5Iget_type(object) != H5I_DATASET) return object;
  const Hdf5Handle creation(H5Dget_create_plist(object));
  if (H5Pget_layout(creation) == H5D_VIRTUAL || H5Pget_external_count(creation) != 0)
    throw Hdf5Failure("'" + name + "' lies in another file, which is not followed");
  return object;
}

}  // namespace glassbowl::sim
