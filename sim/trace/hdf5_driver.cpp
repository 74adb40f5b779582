#include "sim/trace/hdf5_driver.hpp"

namespace glassbowl::sim {
namespace {

// The library calls plain functions; the session's lock guards these.
herr_t (*usual_write)(H5FD_t*, H5FD_mem_t, hid_t, haddr_t, size_t, const void*) = nullptr;
std::string failure;

herr_t write_or_remember(H5FD_t* file, H5FD_mem_t type, hid_t transfer, haddr_t address, size_t size,
                         const void* data) {
  if (failure.empty() && usual_write(file, type, transfer, address, size, data) < 0) {
    failure = hdf5_reason();
    H5Eclear2(H5E_DEFAULT);
  }
  return 0;
}

hid_t register_driver(const std::filesystem::path& path, hid_t access) {
  H5FD_t* file = H5FDopen(path.c_str(), H5F_ACC_RDWR, access, HADDR_UNDEF);
  if (file == nullptr) return -1;
  H5FD_class_t driver = *file->cls;
  H5FDclose(file);
  usual_write = driver.write;
  failure.clear();
  driver.name = "glassbowl_trace";
  driver.write = write_or_remember;
  driver.truncate = nullptr;
  driver.terminate = nullptr;  // else the usual driver would end with this copy
  return H5FDregister(&driver);
}

}  // namespace

Hdf5Driver::Hdf5Driver(const std::filesystem::path& path, hid_t access) : id_(register_driver(path, access)) {
  hdf5_check(H5Pset_driver(access, id_, nullptr));
}

void Hdf5Driver::check() const {
  if (!failure.empty()) throw Hdf5Failure(failure);
}

}  // namespace glassbowl::sim
