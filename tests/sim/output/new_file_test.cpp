#include "sim/api/new_file.hpp"

#include <fcntl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/sysmacros.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <cstdarg>
#include <cstring>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "sim/api/error.hpp"
#include "tests/sim/cases/case_folder.hpp"
#include "tests/support/refused_calls.hpp"

using glassbowl::test::links_refused;
using glassbowl::test::unnamed_files_refused;

// Stands before the C library's own, so that the file system can be one without unnamed files.
extern "C" int openat(int folder, const char* name, int flags, ...) {
  if (unnamed_files_refused && (flags & O_TMPFILE) == O_TMPFILE) {
    errno = EOPNOTSUPP;
    return -1;
  }
  std::va_list rest;
  va_start(rest, flags);
  const unsigned mode = va_arg(rest, unsigned);
  va_end(rest);
  return static_cast<int>(::syscall(SYS_openat, folder, name, flags, mode));
}

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

std::string get(const fs::path& path) {
  std::ostringstream text;
  text << std::ifstream(path, std::ios::binary).rdbuf();
  return text.str();
}

std::size_t names_in(const fs::path& folder) {
  return static_cast<std::size_t>(std::distance(fs::directory_iterator(folder), fs::directory_iterator()));
}

/// As on file systems that can do everything, that have no unnamed files, and that have no links either.
void on_this_file_system(int kind) {
  unnamed_files_refused = kind > 0;
  links_refused = kind > 1;
}

struct FileSystem {
  explicit FileSystem(int kind) { on_this_file_system(kind); }
  ~FileSystem() { on_this_file_system(0); }
};

template <typename Action>
std::string refused(Action&& action, ErrorKind kind = ErrorKind::input) {
  try {
    action();
  } catch (const Error& error) {
    CHECK(error.kind() == kind);
    return error.what();
  }
  FAIL("no error came");
  return {};
}

}  // namespace

TEST_CASE("outputs: a file has its name only when it is whole, and an abandoned one leaves nothing",
          "[sim][output]") {
  const int kind = GENERATE(0, 1, 2);
  const FileSystem present(kind);
  const CaseFolder folder;
  const fs::path here = folder / "";
  {
    NewFile file(folder / "a", false);
    file.append("one ");
    file.append("two");
    CHECK(names_in(here) == (kind == 0 ? 0 : 1));
    CHECK_FALSE(fs::exists(folder / "a"));
    file.publish();
    CHECK(get(folder / "a") == "one two");
  }
  {
    NewFile file(folder / "b", false);
    file.append("abandoned");
  }
  CHECK(names_in(here) == 1);
}

TEST_CASE("outputs: a file of that name survives unless it may be replaced, whenever it appears",
          "[sim][output]") {
  const FileSystem present(GENERATE(0, 1, 2));
  const CaseFolder folder;
  folder.write("a", "precious");
  CHECK_THAT(refused([&] { NewFile(folder / "a", false); }),
             Catch::Contains("is there already") && Catch::Contains("--force"));
  {
    NewFile late(folder / "b", false);
    late.append("new");
    folder.write("b", "precious");
    CHECK_THAT(refused([&] { late.publish(); }, ErrorKind::file), Catch::Contains("has appeared"));
  }
  CHECK(get(folder / "b") == "precious");
  write_new_file(folder / "a", true, "new");
  CHECK(get(folder / "a") == "new");
  CHECK(names_in(folder / "") == 2);
}

TEST_CASE("outputs: links are neither followed nor replaced", "[sim][output]") {
  const FileSystem present(GENERATE(0, 1, 2));
  const CaseFolder folder;
  folder.write("victim", "precious");
  fs::create_symlink("victim", folder / "link");
  fs::create_symlink("nowhere", folder / "dangling");
  for (const bool force : {false, true})
    for (const char* name : {"link", "dangling"})
      CHECK_THAT(refused([&] { write_new_file(folder / name, force, "new"); }), Catch::Contains("is a link"));
  for (const bool force : {false, true}) {
    NewFile late(folder / "late", force);
    late.append("new");
    fs::create_symlink("victim", folder / "late");
    CHECK_FALSE(refused([&] { late.publish(); }, ErrorKind::file).empty());
    fs::remove(folder / "late");
  }
  CHECK(get(folder / "victim") == "precious");
  CHECK_FALSE(fs::exists(folder / "nowhere"));
  CHECK(names_in(folder / "") == 3);
}

TEST_CASE("outputs: the same for the name of an unfinished file", "[sim][output]") {
  const FileSystem present(GENERATE(0, 1, 2));
  const CaseFolder folder;
  folder.write("victim", "precious");
  for (const bool force : {false, true}) {
    fs::create_symlink("victim", folder / "a.partial");
    NewFile file(folder / "a", force);
    file.append("new");
    CHECK_THAT(refused([&] { file.show(); }), Catch::Contains("a.partial: is a link"));
    fs::remove(folder / "a.partial");
    CHECK(::mkfifo((folder / "a.partial").c_str(), 0600) == 0);
    CHECK_THAT(refused([&] { file.show(); }), Catch::Contains("a.partial: is a pipe"));
    fs::remove(folder / "a.partial");
  }
  CHECK(get(folder / "victim") == "precious");
}

TEST_CASE("outputs: what is no file is refused by what it is, forced or not", "[sim][output]") {
  const CaseFolder folder;
  fs::create_directory(folder / "folder");
  REQUIRE(::mkfifo((folder / "pipe").c_str(), 0600) == 0);
  const int socket = ::socket(AF_UNIX, SOCK_STREAM, 0);
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  std::strncpy(address.sun_path, (folder / "socket").c_str(), sizeof address.sun_path - 1);
  REQUIRE(::bind(socket, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0);
  ::close(socket);
  const bool root = ::mknod((folder / "device").c_str(), S_IFCHR | 0600, makedev(1, 3)) == 0;
  const std::string device = root ? (folder / "device").string() : "/dev/null";
  for (const bool force : {false, true}) {
    CHECK_THAT(refused([&] { check_output(folder / "folder", force); }), Catch::Contains("is a folder"));
    CHECK_THAT(refused([&] { check_output(folder / "folder" / "", force); }), Catch::Contains("file name"));
    CHECK_THAT(refused([&] { check_output(folder / "pipe", force); }), Catch::Contains("is a pipe"));
    CHECK_THAT(refused([&] { check_output(folder / "socket", force); }), Catch::Contains("is a socket"));
    if (root) CHECK_THAT(refused([&] { check_output(device, force); }), Catch::Contains("is a device"));
    CHECK_THAT(refused([&] { check_output(folder / "none" / "a", force); }),
               Catch::Contains("does not exist"));
    CHECK_THAT(refused([&] { check_output(folder / std::string(300, 'a'), force); }),
               Catch::Contains("too long"));
  }
  NewFile late(folder / "late", true);
  REQUIRE(::mkfifo((folder / "late").c_str(), 0600) == 0);
  CHECK_THAT(refused([&] { late.publish(); }, ErrorKind::file), Catch::Contains("has become a pipe"));
}

TEST_CASE("outputs: of many that publish one name at once, one wins or each replaces the whole",
          "[sim][output]") {
  const int kind = GENERATE(0, 1, 2);
  const bool force = GENERATE(false, true);
  const FileSystem present(kind);
  for (int trial = 0; trial < 10; ++trial) {
    const CaseFolder folder;
    std::vector<pid_t> children;
    for (int child = 0; child < 6; ++child) {
      children.push_back(::fork());
      if (children.back() != 0) continue;
      try {
        NewFile file(folder / "a", force);
        for (int i = 0; i < 200; ++i) file.append(std::string(50, static_cast<char>('a' + child)));
        file.publish();
      } catch (const Error&) {
        ::_exit(1);
      }
      ::_exit(0);
    }
    int won = 0;
    for (const pid_t child : children) {
      int status = 0;
      REQUIRE(::waitpid(child, &status, 0) == child);
      REQUIRE(WIFEXITED(status));
      won += WEXITSTATUS(status) == 0;
    }
    const std::string text = get(folder / "a");
    CHECK(text == std::string(10000, text.front()));
    CHECK(won == (force ? 6 : 1));
    CHECK(names_in(folder / "") == 1);
  }
}

TEST_CASE("outputs: of many that show one unfinished file at once, one gets the name", "[sim][output]") {
  const FileSystem present(GENERATE(0, 1, 2));
  for (int trial = 0; trial < 20; ++trial) {
    const CaseFolder folder;
    if (trial % 2 == 0) folder.write("a.partial", "left by a killed run");
    int go[2];
    REQUIRE(::pipe(go) == 0);
    std::vector<pid_t> children;
    for (int child = 0; child < 5; ++child) {
      children.push_back(::fork());
      if (children.back() != 0) continue;
      int code = 0;
      try {
        NewFile file(folder / "a", true);
        file.append(std::string(1, static_cast<char>('a' + child)));
        file.show();
        file.keep();
        char byte = 0;
        ::close(go[1]);
        code = ::read(go[0], &byte, 1) == 0 ? 0 : 2;  // the others see that it is being written
        file.publish();
      } catch (const Error&) {
        code = 1;
      }
      ::_exit(code);
    }
    ::close(go[0]);
    int status = 0;
    for (int i = 0; i < 4; ++i) {
      REQUIRE(::wait(&status) > 0);
      CHECK(WEXITSTATUS(status) == 1);
    }
    ::close(go[1]);
    REQUIRE(::wait(&status) > 0);
    CHECK(WEXITSTATUS(status) == 0);
    CHECK(fs::file_size(folder / "a") == 1);
    CHECK(names_in(folder / "") == 1);
  }
}

TEST_CASE("outputs: a folder that is moved meanwhile keeps its file", "[sim][output]") {
  const CaseFolder folder;
  fs::create_directory(folder / "before");
  NewFile file(folder / "before" / "a", false);
  file.append("whole");
  fs::rename(folder / "before", folder / "after");
  fs::create_directory(folder / "before");
  file.publish();
  CHECK(get(folder / "after" / "a") == "whole");
  CHECK(names_in(folder / "before") == 0);
}

TEST_CASE("outputs: two of one command cannot have one name", "[sim][output]") {
  const CaseFolder folder;
  fs::create_directory(folder / "one");
  fs::create_directory_symlink("one", folder / "two");
  const std::vector<fs::path> same{folder / "one" / "a", folder / "b", folder / "two" / "a"};
  CHECK_THAT(refused([&] { check_distinct(same); }), Catch::Contains("two outputs"));
  const std::vector<fs::path> distinct{folder / "one" / "a", folder / "a"};
  CHECK_NOTHROW(check_distinct(distinct));
}

}  // namespace glassbowl::sim
