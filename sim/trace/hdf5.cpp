#include "sim/trace/hdf5.hpp"

#include <string_view>

namespace glassbowl::sim {
namespace {

std::mutex& library_mutex() {
  static std::mutex mutex;
  return mutex;
}

herr_t keep_first(unsigned /*depth*/, const H5E_error2_t* error, void* text) {
  auto& reason = *static_cast<std::string*>(text);
  if (reason.empty() && error->desc != nullptr) reason = error->desc;
  return 0;
}

}  // namespace

Hdf5Session::Hdf5Session() : lock_(library_mutex()) {
  H5Eget_auto2(H5E_DEFAULT, &printer_, &printer_data_);
  H5Eset_auto2(H5E_DEFAULT, nullptr, nullptr);
}

Hdf5Session::~Hdf5Session() {
  H5Eset_auto2(H5E_DEFAULT, printer_, printer_data_);
}

std::string hdf5_reason() {
  std::string reason;
  H5Ewalk2(H5E_DEFAULT, H5E_WALK_UPWARD, keep_first, &reason);
  // A failed system call is told at length; what it said itself is enough.
  constexpr std::string_view before = "error message = '";
  if (const std::size_t found = reason.find(before); found != std::string::npos) {
    const std::size_t start = found + before.size();
    reason = reason.substr(start, reason.find('\'', start) - start);
  }
  return reason.empty() ? "the HDF5 library gives no reason" : reason;
}

Hdf5Handle trace_access() {
  Hdf5Handle access(H5Pcreate(H5P_FILE_ACCESS));
  hdf5_check(H5Pset_libver_bounds(access, H5F_LIBVER_EARLIEST, H5F_LIBVER_LATEST));
  hdf5_check(H5Pset_file_locking(access, 0, 1));
  hdf5_check(H5Pset_fclose_degree(access, H5F_CLOSE_STRONG));
  return access;
}

}  // namespace glassbowl::sim
