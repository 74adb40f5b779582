#pragma once

#include <filesystem>
#include <functional>
#include <string>

namespace glassbowl::sim {

/// Reads a file in a child process, and returns what `read` made of it there. The HDF5 library trusts what it
/// reads: a damaged or hostile file can make it crash, allocate without bound, never end, or read and write
/// beyond its buffers. In the child that costs nothing: it may take 256 MiB and 1 s of processor time, and
/// can write no file; only the bytes that `read` returns, 64 MiB at most, come out of it, and are to be
/// trusted as little as the file.
///
/// Call it within an Hdf5Session.
/// Errors  `Error` of kind `file`: what `read` threw, or that the file `named` is damaged if the child did
/// not return.
std::string read_in_child(const std::filesystem::path& named, const std::function<std::string()>& read);

}  // namespace glassbowl::sim
