#include "sim/points/point_journal.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <sstream>
#include <system_error>
#include <utility>

#include "sim/api/error.hpp"

namespace glassbowl::sim {
namespace {

constexpr std::string_view head = "glassbowl points 1\n";
constexpr std::string_view reason_follows = " not computed: ";

/// FNV-1a, 64 bit (public domain, Fowler, Noll and Vo).
std::uint64_t hash(std::string_view text, std::uint64_t seed) {
  std::uint64_t h = seed;
  for (const unsigned char c : text) h = (h ^ c) * 0x100000001b3ULL;
  return h;
}

std::string checked(const std::string& body) {
  return fmt::format("{} #{:016x}\n", body, hash(body, 0xcbf29ce484222325ULL));
}

/// A line without its check sum, and back.
std::string line_of(const std::string& name, const PointResult& result) {
  std::string line = name;
  for (const double value : result.values) line += fmt::format(" {:a}", value);
  if (!result.why_not.empty()) line += fmt::format("{}{}", reason_follows, result.why_not);
  return line;
}
std::pair<std::string, PointResult> read_line(const std::string& line) {
  std::pair<std::string, PointResult> out;
  const std::size_t numbers = std::min(line.find(reason_follows), line.size());
  if (numbers < line.size()) out.second.why_not = line.substr(numbers + reason_follows.size());
  std::istringstream words(line.substr(0, numbers));
  std::string word;
  words >> out.first;
  while (words >> word) out.second.values.push_back(std::strtod(word.c_str(), nullptr));
  return out;
}

[[noreturn]] void fail(const std::filesystem::path& path, const std::string& what) {
  throw Error(ErrorKind::file, fmt::format("{}: {}", path.string(), what));
}

}  // namespace

std::string digest_of(std::string_view text) {
  return fmt::format("{:016x}{:016x}", hash(text, 0xcbf29ce484222325ULL), hash(text, 0x9ae16a3b2f90404fULL));
}

PointJournal::PointJournal(std::filesystem::path path) : path_(std::move(path)) {
  try {
    // One that ends meanwhile takes its list away.
    do {
      file_ = DiskFile::open_or_create(path_);
      if (!file_.is_regular()) fail(path_, "is no file, so finished points cannot be kept there");
      if (!file_.try_lock())
        fail(path_, "another study is writing this; wait for it or choose another --output");
    } while (!file_.is_at(path_));
    read();
  } catch (const std::system_error& failure) {
    if (end_ == 0) discard();  // nothing was in it
    fail(path_, fmt::format("finished points cannot be kept here: {}", failure.code().message()));
  }
}

void PointJournal::read() {
  std::string text(file_.size(), '\0');
  if (text.empty() || (text.size() < head.size() && head.starts_with(text))) {
    file_.write_at(head.data(), head.size(), 0);
    end_ = static_cast<long long>(head.size());
    return;
  }
  file_.read_at(text.data(), text.size(), 0);
  if (!text.starts_with(head)) fail(path_, "is no list of finished points; move it away");
  std::size_t begin = head.size();
  end_ = static_cast<long long>(begin);
  for (std::size_t stop = text.find('\n', begin); stop != std::string::npos; stop = text.find('\n', begin)) {
    const std::string line = text.substr(begin, stop - begin + 1);
    begin = stop + 1;
    const std::size_t mark = line.rfind(" #");
    if (mark == std::string::npos || checked(line.substr(0, mark)) != line) break;
    points_.insert(read_line(line.substr(0, mark)));
    end_ = static_cast<long long>(begin);
  }
  if (static_cast<std::size_t>(end_) < text.size()) file_.cut(static_cast<std::uint64_t>(end_));
}

std::optional<PointResult> PointJournal::find(const std::string& key) const {
  const std::lock_guard lock(mutex_);
  const auto found = points_.find(digest_of(key));
  if (found == points_.end()) return std::nullopt;
  used_.insert(found->first);
  return found->second;
}

void PointJournal::keep(const std::string& key, const PointResult& result) {
  const std::string name = digest_of(key);
  const std::string line = checked(line_of(name, result));
  const std::lock_guard lock(mutex_);
  if (points_.contains(name)) return;
  try {
    file_.write_at(line.data(), line.size(), end_);
  } catch (const std::system_error& failure) {
    fail(path_, fmt::format("a finished point cannot be kept: {}", failure.code().message()));
  }
  end_ += static_cast<long long>(line.size());
  points_.emplace(name, result);
  used_.insert(name);
}

std::size_t PointJournal::size() const {
  const std::lock_guard lock(mutex_);
  return points_.size();
}

std::size_t PointJournal::unused() const {
  const std::lock_guard lock(mutex_);
  return points_.size() - used_.size();
}

void PointJournal::discard() {
  if (file_.is_at(path_)) ::unlink(path_.c_str());
}

}  // namespace glassbowl::sim
