#pragma once

#include "sim/output/disk_file.hpp"
#include "sim/trace/hdf5.hpp"

namespace glassbowl::sim {

/// Lets the HDF5 library write into an open file of ours, so that no name is looked up. One at a time, within
/// an Hdf5Session, and outliving the file opened with it.
///
/// It never changes a file's length by itself: the library shortens first and says so in the superblock
/// afterwards, so that a file killed between would count as cut short.
/// It takes a failed write silently and drops all that follow: a library that could not write out a file
/// crashes at the program's end. `check` tells of the failure once the file is closed.
class Hdf5Driver {
 public:
  /// Makes `access` lead to `file`, whatever name is given with it. Errors: Hdf5Failure.
  Hdf5Driver(const DiskFile& file, hid_t access);
  ~Hdf5Driver();
  Hdf5Driver(const Hdf5Driver&) = delete;
  Hdf5Driver& operator=(const Hdf5Driver&) = delete;

  /// Throws std::system_error if a write has failed.
  void check() const;

 private:
  Hdf5Handle id_;
};

}  // namespace glassbowl::sim
