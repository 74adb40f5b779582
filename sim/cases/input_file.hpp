#pragma once

#include <filesystem>
#include <string>

namespace glassbowl::sim {

/// What stands under this name, with links followed, if it is anything but a regular file: "a folder", "a
/// FIFO (named pipe)", "a device", "a socket"; empty for a regular file and for a name under which nothing
/// stands.
std::string other_than_a_file(const std::filesystem::path& path);

/// A regular file opened to read. It never waits: a FIFO or a device is refused before it is opened, and
/// should one take the file's place just then, opening it does not wait either.
class InputFile {
 public:
  /// `named` stands in messages. Throws Error{input} for what is no regular file or cannot be read, with
  /// `wanted` ("give a case file or a trace") as the remedy.
  InputFile(const std::filesystem::path& path, const std::string& named, const std::string& wanted);
  ~InputFile();
  InputFile(const InputFile&) = delete;
  InputFile& operator=(const InputFile&) = delete;

  /// Its first bytes, at most so many.
  std::string read(std::size_t most) const;

 private:
  std::string named_;
  int descriptor_;
};

}  // namespace glassbowl::sim
