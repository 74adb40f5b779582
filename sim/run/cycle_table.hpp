#pragma once
#include <cstdio>
#include <filesystem>
#include <span>
#include <string>
#include <vector>

#include "sim/api/channel.hpp"

namespace glassbowl::sim {

/// Cycle-averaged channels as comma-separated text, one line per engine cycle, names and units on the first.
/// Numbers are as short as reads back the same; what is not a number is left empty.
///
/// On disk  Grows as `<target>.partial` and takes its name only in `finish`; unfinished, it stays there.
/// Errors   `Error` of kind `file`: target there and not `force`, not writable, disk full.
class CycleTable {
 public:
  CycleTable(std::filesystem::path target, bool force, std::span<const Channel> channels);
  ~CycleTable();
  CycleTable(const CycleTable&) = delete;
  CycleTable& operator=(const CycleTable&) = delete;

  void row(long number, std::span<const double> values);
  void finish();
  std::filesystem::path partial_path() const;

 private:
  void write_line();

  std::filesystem::path target_;
  bool force_;
  std::FILE* file_ = nullptr;
  std::string line_;
};

}  // namespace glassbowl::sim
