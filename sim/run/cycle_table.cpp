#include "sim/run/cycle_table.hpp"

#include <fmt/format.h>

#include <cmath>
#include <iterator>
#include <utility>

namespace glassbowl::sim {

CycleTable::CycleTable(std::filesystem::path target, bool force, std::span<const Channel> channels)
    : file_(std::move(target), force) {
  line_ = "cycle";
  for (const auto& channel : channels) line_ += fmt::format(",{} [{}]", channel.name, channel.unit);
  write_line();
  file_.show();
}

std::filesystem::path CycleTable::partial_path() const {
  return file_.partial_path();
}

void CycleTable::write_line() {
  line_ += '\n';
  file_.append(line_);
}

void CycleTable::row(long number, std::span<const double> values) {
  line_.clear();
  fmt::format_to(std::back_inserter(line_), "{}", number);
  for (const double value : values) {
    line_ += ',';
    if (std::isfinite(value)) fmt::format_to(std::back_inserter(line_), "{}", value);
  }
  file_.keep();
  empty_ = false;
  write_line();
}

void CycleTable::finish() {
  file_.keep();
  file_.publish();
}

}  // namespace glassbowl::sim
