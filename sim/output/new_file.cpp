#include "sim/api/new_file.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/random.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdint>
#include <string>
#include <system_error>
#include <utility>

#include "sim/api/error.hpp"
#include "sim/output/disk_file.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

[[noreturn]] void refuse(const fs::path& path, const std::string& why) {
  throw Error(ErrorKind::input, fmt::format("{}: {}", path.string(), why));
}

[[noreturn]] void fail(const fs::path& path, const std::string& why) {
  throw Error(ErrorKind::file, fmt::format("{}: {}", path.string(), why));
}

std::string reason(int error) {
  return std::generic_category().message(error);
}

fs::path folder_of(const fs::path& target) {
  return target.has_parent_path() ? target.parent_path() : fs::path(".");
}

fs::path partial_of(fs::path target) {
  target += ".partial";
  return target;
}

const char* kind_of(mode_t mode) {
  if (S_ISDIR(mode)) return "a folder";
  if (S_ISLNK(mode)) return "a link, which is neither followed nor replaced";
  if (S_ISFIFO(mode)) return "a pipe";
  if (S_ISSOCK(mode)) return "a socket";
  return "a device";
}

/// Whether a file has this name. Throws Error{input} if something else has.
bool is_file_there(const fs::path& path) {
  struct stat there {};
  if (::lstat(path.c_str(), &there) != 0) {
    if (errno == ENOENT) return false;
    refuse(path, fmt::format("cannot be written: {}", reason(errno)));
  }
  if (!S_ISREG(there.st_mode))
    refuse(path, fmt::format("is {}; give the name of a file", kind_of(there.st_mode)));
  return true;
}

void check_folder(const fs::path& target) {
  const fs::path folder = folder_of(target);
  struct stat there {};
  if (::stat(folder.c_str(), &there) != 0)
    refuse(target, errno == ENOENT
                       ? fmt::format("the folder {} does not exist; create it first", folder.string())
                       : fmt::format("the folder {} cannot be used: {}", folder.string(), reason(errno)));
  if (!S_ISDIR(there.st_mode)) refuse(target, fmt::format("{} is not a folder", folder.string()));
  if (::eaccess(folder.c_str(), W_OK | X_OK) != 0)
    refuse(target, fmt::format("no permission to write in the folder {}", folder.string()));
}

/// An open folder: names are looked up in it, wherever it is moved meanwhile.
class Folder {
 public:
  explicit Folder(const fs::path& path)
      : descriptor_(::open(path.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC)) {
    // A folder that may not be listed can still take files.
    if (descriptor_ < 0) descriptor_ = ::open(path.c_str(), O_PATH | O_DIRECTORY | O_CLOEXEC);
  }
  ~Folder() {
    if (descriptor_ >= 0) ::close(descriptor_);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  operator int() const { return descriptor_; }  // NOLINT: every call of the system takes one

 private:
  int descriptor_;
};

std::string random_name() {
  std::uint64_t number = 0;
  if (::getrandom(&number, sizeof number, 0) != sizeof number) fail("a temporary name", reason(errno));
  return fmt::format(".glassbowl-{:016x}", number);
}

/// A name of an open file that the system understands, though the file may have none in any folder.
std::string system_name(int descriptor) {
  return fmt::format("/proc/self/fd/{}", descriptor);
}

}  // namespace

void check_output(const fs::path& target, bool replace) {
  if (!target.has_filename()) refuse(target, "a file name is needed");
  check_folder(target);
  if (is_file_there(target) && !replace)
    refuse(target, "is there already and was left untouched; give another name, or --force to replace it");
}

void check_partial(const fs::path& target, bool replace) {
  const fs::path partial = partial_of(target);
  if (!is_file_there(partial)) return;
  if (!replace)
    refuse(partial,
           "an unfinished output is or was written here; it can be read. "
           "Move it away, give another name, or --force to replace it");
  try {
    if (!DiskFile(partial).try_lock())
      refuse(partial, "another run is writing this; wait for it or give another name");
  } catch (const std::system_error& failure) {
    if (failure.code() == std::errc::no_such_file_or_directory) return;
    refuse(partial, fmt::format("cannot be replaced: {}", failure.code().message()));
  }
}

void check_distinct(std::span<const fs::path> targets) {
  for (auto a = targets.begin(); a != targets.end(); ++a)
    for (auto b = targets.begin(); b != a; ++b) {
      std::error_code ignored;  // a missing folder is refused elsewhere
      if (a->filename() == b->filename() && fs::equivalent(folder_of(*a), folder_of(*b), ignored))
        refuse(*a, "is wanted for two outputs of this command; give two names");
    }
}

struct NewFile::State {
  State(fs::path path, bool replace_it)
      : target(std::move(path)),
        replace(replace_it),
        folder((check_output(target, replace), folder_of(target))) {
    create();
  }

  ~State() {
    if (!published && !kept && !name.empty()) remove(name);
  }

  State(const State&) = delete;
  State& operator=(const State&) = delete;

  void create() {
    int descriptor = ::openat(folder, ".", O_TMPFILE | O_RDWR | O_CLOEXEC, 0666);
    if (descriptor >= 0 && ::access(system_name(descriptor).c_str(), F_OK) != 0) {
      ::close(descriptor);  // no /proc: it could never get a name
      descriptor = -1;
    }
    for (int tries = 0; descriptor < 0 && tries < 100; ++tries) {
      name = random_name();
      descriptor = ::openat(folder, name.c_str(), O_CREAT | O_EXCL | O_NOFOLLOW | O_RDWR | O_CLOEXEC, 0666);
      if (descriptor < 0 && errno != EEXIST) break;
    }
    if (descriptor < 0) {
      const int why = errno;
      name.clear();
      fail(target, fmt::format("cannot be written: {}", reason(why)));
    }
    file = DiskFile::of(descriptor);
  }

  bool has(const std::string& wanted) const { return file.is_at(folder, wanted); }

  void remove(const std::string& old) const {
    if (has(old)) ::unlinkat(folder, old.c_str(), 0);
  }

  /// Gives this file a name in its folder, by descriptor where the file system knows links; 0, or the error.
  int take(const std::string& wanted, bool over) {
    const std::string link = over ? random_name() : wanted;
    if (::linkat(AT_FDCWD, system_name(file.descriptor()).c_str(), folder, link.c_str(), AT_SYMLINK_FOLLOW) ==
        0) {
      if (over && ::renameat(folder, link.c_str(), folder, wanted.c_str()) != 0) {
        const int why = errno;
        ::unlinkat(folder, link.c_str(), 0);
        return why;
      }
    } else if (errno == EEXIST || name.empty()) {
      return errno;
    } else if (!has(name)) {
      return ENOENT;
    } else if (const int why = rename_to(wanted, over); why != 0) {
      return why;
    }
    if (const std::string old = std::exchange(name, wanted); !old.empty()) remove(old);
    return 0;
  }

  int rename_to(const std::string& wanted, bool over) const {
    if (over) return ::renameat(folder, name.c_str(), folder, wanted.c_str()) == 0 ? 0 : errno;
    if (::renameat2(folder, name.c_str(), folder, wanted.c_str(), RENAME_NOREPLACE) == 0) return 0;
    return errno;
  }

  /// Takes the name of the unfinished file. The lock of a file that is replaced is held until it is, and this
  /// file has its own before it has the name: so of several runs one gets it.
  void show() {
    const std::string partial = partial_of(target.filename()).string();
    file.try_lock();
    while (true) {
      int why = take(partial, false);
      if (why == EEXIST) {
        check_partial(target, replace);
        const int descriptor =
            ::openat(folder, partial.c_str(), O_RDWR | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
        if (descriptor < 0 && errno == ENOENT) continue;
        if (descriptor < 0) fail(partial_of(target), fmt::format("cannot be replaced: {}", reason(errno)));
        const DiskFile old = DiskFile::of(descriptor);
        if (!old.try_lock()) check_partial(target, replace);
        if (!old.is_at(folder, partial)) continue;
        why = take(partial, true);
      }
      if (why != 0) fail(partial_of(target), fmt::format("cannot be written: {}", reason(why)));
      shown = true;
      return;
    }
  }

  std::string left() const {
    return kept ? fmt::format("; it is left in {}", partial_of(target).string()) : "";
  }

  fs::path target;
  bool replace;
  Folder folder;
  DiskFile file;
  std::string name;  // in the folder; empty for none
  off_t end = 0;     // of what was appended
  bool shown = false, kept = false, published = false;
};

NewFile::NewFile(fs::path target, bool replace)
    : state_(std::make_unique<State>(std::move(target), replace)) {}
NewFile::~NewFile() = default;
NewFile::NewFile(NewFile&&) noexcept = default;
NewFile& NewFile::operator=(NewFile&&) noexcept = default;

const fs::path& NewFile::target() const {
  return state_->target;
}

fs::path NewFile::partial_path() const {
  return partial_of(state_->target);
}

const DiskFile& NewFile::file() const {
  return state_->file;
}

int NewFile::descriptor() const {
  return state_->file.descriptor();
}

void NewFile::append(std::string_view bytes) {
  try {
    state_->file.write_at(bytes.data(), bytes.size(), state_->end);
  } catch (const std::system_error& failure) {
    fail(state_->target, fmt::format("cannot be written: {}{}", failure.code().message(), state_->left()));
  }
  state_->end += static_cast<off_t>(bytes.size());
}

void NewFile::show() {
  check_partial(state_->target, state_->replace);
  state_->show();
}

void NewFile::show_in_place_of(const NewFile& older) {
  state_->file.try_lock();
  const std::string& partial = older.state_->name;
  const int why = older.state_->has(partial) ? state_->take(partial, true) : ENOENT;
  if (why == ENOENT)
    fail(partial_path(), "was removed or replaced while the run went on; the output is lost");
  if (why != 0) fail(partial_path(), fmt::format("cannot be written: {}", reason(why)));
  state_->shown = true;
  state_->kept = older.state_->kept;
}

void NewFile::keep() {
  state_->kept = state_->shown;
}

void NewFile::publish() {
  State& s = *state_;
  try {
    s.file.sync();
  } catch (const std::system_error& failure) {
    fail(s.target, fmt::format("cannot be written: {}{}", failure.code().message(), s.left()));
  }
  const std::string name = s.target.filename().string();
  struct stat there {};
  if (s.replace && ::fstatat(s.folder, name.c_str(), &there, AT_SYMLINK_NOFOLLOW) == 0 &&
      !S_ISREG(there.st_mode))
    fail(s.target, fmt::format("has become {}, which is not replaced{}", kind_of(there.st_mode), s.left()));
  const bool had_name = !s.name.empty();
  const int why = s.take(name, s.replace);
  if (why == ENOENT && had_name)
    fail(s.shown ? partial_path() : s.target,
         "was removed or replaced while the run went on; the output is lost");
  if (why != 0)
    fail(s.target, fmt::format("cannot take its name: {}{}",
                               why == EEXIST ? "a file of that name has appeared" : reason(why), s.left()));
  s.published = true;
  ::fsync(s.folder);  // the entry; quiet where a file system cannot
}

void write_new_file(const fs::path& target, bool replace, std::string_view bytes) {
  NewFile file(target, replace);
  file.append(bytes);
  file.publish();
}

}  // namespace glassbowl::sim
