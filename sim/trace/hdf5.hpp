#pragma once

// Inside sim/trace only: no other folder sees an HDF5 header.

#include <hdf5.h>
#include <hdf5_hl.h>

#include <mutex>
#include <stdexcept>
#include <string>
#include <utility>

namespace glassbowl::sim {

/// A failed HDF5 call, in the library's own words; callers translate it into an `Error`.
class Hdf5Failure : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// Every use of the HDF5 library happens within one of these: the library as packaged is not safe for
/// threads, and its error stack goes to standard error unless it is told not to.
class Hdf5Session {
 public:
  Hdf5Session();
  ~Hdf5Session();
  Hdf5Session(const Hdf5Session&) = delete;
  Hdf5Session& operator=(const Hdf5Session&) = delete;

 private:
  std::unique_lock<std::mutex> lock_;
  H5E_auto2_t printer_ = nullptr;
  void* printer_data_ = nullptr;
};

/// The innermost cause on the HDF5 error stack.
std::string hdf5_reason();

/// Returns `result` if it is not negative; throws Hdf5Failure otherwise.
template <typename Result>
Result hdf5_check(Result result) {
  if (result < 0) throw Hdf5Failure(hdf5_reason());
  return result;
}

/// Owns one HDF5 identifier of any kind. An identifier below 0 throws Hdf5Failure.
class Hdf5Handle {
 public:
  explicit Hdf5Handle(hid_t id) : id_(hdf5_check(id)) {}
  ~Hdf5Handle() {
    if (id_ >= 0) H5Idec_ref(id_);
  }
  Hdf5Handle(Hdf5Handle&& other) noexcept : id_(std::exchange(other.id_, -1)) {}
  Hdf5Handle& operator=(Hdf5Handle&& other) noexcept {
    std::swap(id_, other.id_);
    return *this;
  }
  operator hid_t() const { return id_; }  // NOLINT: every call of the library takes one

  /// Closes and says whether that failed; closing a file writes to it.
  void close() { hdf5_check(H5Idec_ref(std::exchange(id_, -1))); }

 private:
  hid_t id_;
};

/// File access as traces use it: the oldest format, whose superblock has no "open for writing" mark and whose
/// object headers have no checksums, and no file locks, so that a trace can be read while it is written.
Hdf5Handle trace_access();

}  // namespace glassbowl::sim
