#include "sim/trace/hdf5_driver.hpp"

#include <algorithm>
#include <cstring>
#include <system_error>

namespace glassbowl::sim {
namespace {

// The library calls plain functions; the session's lock guards these.
const DiskFile* subject = nullptr;
std::error_code failure;

/// What the library holds of an open file; it reads and writes the first part.
struct OpenFile {
  H5FD_t library;
  haddr_t end_of_addresses;
  haddr_t end_of_file;
};

OpenFile& mine(H5FD_t* file) {
  return *reinterpret_cast<OpenFile*>(file);
}

const OpenFile& mine(const H5FD_t* file) {
  return *reinterpret_cast<const OpenFile*>(file);
}

/// No exception may pass through the library.
template <typename Action>
herr_t done(Action&& action) {
  try {
    action();
    return 0;
  } catch (const std::system_error& error) {
    if (!failure) failure = error.code();
  } catch (const std::exception&) {
    if (!failure) failure = std::make_error_code(std::errc::not_enough_memory);
  }
  return -1;
}

H5FD_t* open_file(const char* /*name*/, unsigned /*flags*/, hid_t /*access*/, haddr_t /*most*/) {
  OpenFile* file = nullptr;
  done([&] { file = new OpenFile{{}, 0, subject->size()}; });
  return file != nullptr ? &file->library : nullptr;
}

herr_t close_file(H5FD_t* file) {
  delete &mine(file);
  return 0;
}

/// The flags of the library's usual driver, so that it lays files out the same way.
herr_t query(const H5FD_t* /*file*/, unsigned long* flags) {
  *flags = H5FD_FEAT_AGGREGATE_METADATA | H5FD_FEAT_ACCUMULATE_METADATA | H5FD_FEAT_DATA_SIEVE |
           H5FD_FEAT_AGGREGATE_SMALLDATA | H5FD_FEAT_DEFAULT_VFD_COMPATIBLE;
  return 0;
}

haddr_t end_of_addresses(const H5FD_t* file, H5FD_mem_t /*kind*/) {
  return mine(file).end_of_addresses;
}

herr_t set_end_of_addresses(H5FD_t* file, H5FD_mem_t /*kind*/, haddr_t end) {
  mine(file).end_of_addresses = end;
  return 0;
}

haddr_t end_of_file(const H5FD_t* file, H5FD_mem_t /*kind*/) {
  return mine(file).end_of_file;
}

/// What lies behind the end reads as zeros.
herr_t read_bytes(H5FD_t* file, H5FD_mem_t /*kind*/, hid_t /*transfer*/, haddr_t at, size_t size, void* to) {
  const haddr_t end = mine(file).end_of_file;
  const std::size_t there = std::min<haddr_t>(size, at < end ? end - at : 0);
  std::memset(static_cast<char*>(to) + there, 0, size - there);
  return done([&] { subject->read_at(to, there, static_cast<off_t>(at)); });
}

herr_t write_bytes(H5FD_t* file, H5FD_mem_t /*kind*/, hid_t /*transfer*/, haddr_t at, size_t size,
                   const void* from) {
  if (failure) return 0;
  done([&] { subject->write_at(from, size, static_cast<off_t>(at)); });
  mine(file).end_of_file = std::max<haddr_t>(mine(file).end_of_file, at + size);
  return 0;
}

hid_t register_driver() {
  H5FD_class_t driver{};
  driver.name = "glassbowl_file";
  driver.maxaddr = static_cast<haddr_t>(1) << 62;
  driver.fc_degree = H5F_CLOSE_STRONG;
  driver.open = open_file;
  driver.close = close_file;
  driver.query = query;
  driver.get_eoa = end_of_addresses;
  driver.set_eoa = set_end_of_addresses;
  driver.get_eof = end_of_file;
  driver.read = read_bytes;
  driver.write = write_bytes;
  const H5FD_mem_t map[] = H5FD_FLMAP_DICHOTOMY;
  std::copy(std::begin(map), std::end(map), driver.fl_map);
  return H5FDregister(&driver);
}

}  // namespace

Hdf5Driver::Hdf5Driver(const DiskFile& file, hid_t access) : id_(register_driver()) {
  subject = &file;
  failure.clear();
  hdf5_check(H5Pset_driver(access, id_, nullptr));
}

Hdf5Driver::~Hdf5Driver() {
  subject = nullptr;
}

void Hdf5Driver::check() const {
  if (failure) throw std::system_error(failure);
}

}  // namespace glassbowl::sim
