#pragma once

#include <filesystem>
#include <functional>

namespace glassbowl::sim {

/// Reads a file in a child process first. The HDF5 library trusts what it reads: a damaged or hostile file
/// can make it crash, allocate without bound or never end. There, that costs nothing: the child may take 256
/// MiB and 1 s of processor time, and can write no file.
///
/// `read` does all that the caller will do; it leaves nothing behind in this process. Call it within an
/// Hdf5Session.
/// Errors  `Error` of kind `file`: what `read` threw, or that the file is damaged if the child did not
/// return.
void try_reading(const std::filesystem::path& path, const std::function<void()>& read);

}  // namespace glassbowl::sim
