#pragma once

#include <filesystem>

#include "sim/trace/hdf5.hpp"

namespace glassbowl::sim {

/// The HDF5 library's usual file driver, changed in two ways for files that we write. One at a time, within
/// an Hdf5Session, and outliving the file opened with it.
///
/// It never shortens a file: the library shortens first and says so in the superblock afterwards, so that a
/// file killed between would count as cut short.
/// It takes a failed write silently and drops all that follow: a library that could not write out a file
/// crashes at the program's end. `check` tells of the failure once the file is closed.
class Hdf5Driver {
 public:
  /// Makes `access` use this driver for the file at `path`, which exists. Errors: Hdf5Failure.
  Hdf5Driver(const std::filesystem::path& path, hid_t access);

  /// Throws Hdf5Failure if a write has failed.
  void check() const;

 private:
  Hdf5Handle id_;
};

}  // namespace glassbowl::sim
