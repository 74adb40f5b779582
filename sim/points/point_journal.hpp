#pragma once

#include <filesystem>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <unordered_set>

#include "sim/output/disk_file.hpp"
#include "sim/points/point_result.hpp"

namespace glassbowl::sim {

/// Two hashes of different seeds, which stand for a long text.
std::string digest_of(std::string_view text);

/// The finished points of a study under way, one line each, beside the file it will write. Numbers are kept
/// to the last bit, a reason in one line. A line counts only if its check sum fits, so a kill costs at most
/// the line being written.
///
/// A point is known by the text of everything it depends on, so a line can never answer for another point,
/// and a study that is asked for more goes on from what fits. Thread-safe.
class PointJournal {
 public:
  /// Opens or begins `path`. Throws Error{file}; also when another study writes it.
  explicit PointJournal(std::filesystem::path path);

  std::optional<PointResult> find(const std::string& key) const;
  /// Throws Error{file}.
  void keep(const std::string& key, const PointResult& result);

  std::size_t size() const;
  /// How many of them this study has not asked for: they are another request's.
  std::size_t unused() const;
  const std::filesystem::path& path() const { return path_; }
  /// Deletes the journal: its study is whole.
  void discard();

 private:
  void read();

  std::filesystem::path path_;
  DiskFile file_;
  long long end_ = 0;
  mutable std::mutex mutex_;
  std::unordered_map<std::string, PointResult> points_;
  mutable std::unordered_set<std::string> used_;
};

}  // namespace glassbowl::sim
