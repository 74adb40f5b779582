#pragma once
#include <filesystem>
#include <span>
#include <string>

#include "sim/api/channel.hpp"
#include "sim/api/new_file.hpp"

namespace glassbowl::sim {

/// Cycle-averaged channels as comma-separated text, one line per engine cycle, names and units on the first.
/// Numbers are as short as reads back the same; what is not a number is left empty.
///
/// On disk  Grows as `<target>.partial` and takes its name only in `finish`; unfinished, it stays there if it
///          has a row.
/// Errors   `Error` of kind `input`: a name that cannot be taken; of kind `file`: disk full.
class CycleTable {
 public:
  CycleTable(std::filesystem::path target, bool force, std::span<const Channel> channels);

  void row(long number, std::span<const double> values);
  void finish();
  bool empty() const { return empty_; }
  std::filesystem::path partial_path() const;

 private:
  void write_line();

  NewFile file_;
  std::string line_;
  bool empty_ = true;
};

}  // namespace glassbowl::sim
