#include "sim/run/cycle_table.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <cerrno>
#include <cmath>
#include <cstring>
#include <iterator>
#include <system_error>
#include <utility>

#include "sim/api/error.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

[[noreturn]] void fail(const fs::path& path, const std::string& what) {
  throw Error(ErrorKind::file, fmt::format("{}: {}", path.string(), what));
}

/// What the user named cannot be the table.
[[noreturn]] void refuse(const fs::path& path, const std::string& what) {
  throw Error(ErrorKind::input, fmt::format("{}: {}", path.string(), what));
}

void refuse_if_there(const fs::path& target) {
  std::error_code ignored;
  if (fs::exists(fs::symlink_status(target, ignored)))
    refuse(target, "is there already; give another name, or --force to replace it");
}

}  // namespace

CycleTable::CycleTable(fs::path target, bool force, std::span<const Channel> channels)
    : target_(std::move(target)), force_(force) {
  std::error_code ignored;
  if (fs::is_directory(target_, ignored)) refuse(target_, "is a folder; give the name of a file");
  if (!force_) refuse_if_there(target_);
  file_ = std::fopen(partial_path().c_str(), force_ ? "w" : "wx");
  if (file_ == nullptr && errno == EEXIST)
    refuse(target_, fmt::format("an unfinished table of this name is there, {}; move it away or give --force",
                                partial_path().string()));
  if (file_ == nullptr) refuse(target_, std::string("cannot be written: ") + std::strerror(errno));
  line_ = "cycle";
  for (const auto& channel : channels) line_ += fmt::format(",{} [{}]", channel.name, channel.unit);
  write_line();
}

CycleTable::~CycleTable() {
  if (file_ != nullptr) std::fclose(file_);
}

fs::path CycleTable::partial_path() const {
  return target_.string() + ".partial";
}

void CycleTable::write_line() {
  line_ += '\n';
  if (std::fwrite(line_.data(), 1, line_.size(), file_) != line_.size())
    fail(target_, std::string("cannot be written: ") + std::strerror(errno));
}

void CycleTable::row(long number, std::span<const double> values) {
  line_.clear();
  fmt::format_to(std::back_inserter(line_), "{}", number);
  for (const double value : values) {
    line_ += ',';
    if (std::isfinite(value)) fmt::format_to(std::back_inserter(line_), "{}", value);
  }
  write_line();
}

void CycleTable::finish() {
  const bool whole = std::fflush(file_) == 0 && fsync(fileno(file_)) == 0;
  const int why = errno;
  const bool closed = std::fclose(std::exchange(file_, nullptr)) == 0;
  if (!whole || !closed) fail(target_, std::string("cannot be written: ") + std::strerror(why));
  const fs::path partial = partial_path();
  const unsigned flags = force_ ? 0U : RENAME_NOREPLACE;
  if (renameat2(AT_FDCWD, partial.c_str(), AT_FDCWD, target_.c_str(), flags) == 0) return;
  if (errno == EINVAL && !force_) {  // a file system that cannot do both at once
    refuse_if_there(target_);
    if (std::rename(partial.c_str(), target_.c_str()) == 0) return;
  }
  fail(target_, fmt::format("cannot take its name: {}; the table is left in {}", std::strerror(errno),
                            partial.string()));
}

}  // namespace glassbowl::sim
