#include <hdf5.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <fstream>
#include <sstream>
#include <stdexcept>

#include "sim/api/error.hpp"
#include "sim/api/trace.hpp"
#include "sim/trace/seal.hpp"
#include "tests/sim/trace/sample_trace.hpp"

using namespace glassbowl::sim;
using namespace glassbowl::sim::test;
using Catch::Contains;

namespace {

namespace fs = std::filesystem;

void put(const fs::path& path, const std::string& text) {
  std::ofstream(path, std::ios::binary) << text;
}

std::string get(const fs::path& path) {
  std::ostringstream text;
  text << std::ifstream(path, std::ios::binary).rdbuf();
  return text.str();
}

/// Message of the error of this kind that `action` ends with; all other ends fail the test.
template <typename Action>
std::string file_error(Action&& action, ErrorKind kind = ErrorKind::file) {
  try {
    action();
  } catch (const Error& error) {
    CHECK(error.kind() == kind);
    return error.what();
  }
  FAIL("no error came");
  return {};
}

/// Of a name that cannot be taken, which is wrong use.
std::string start_error(const fs::path& path, bool force = false) {
  return file_error([&] { TraceWriter(path, force, sample_header(), sample_plan(100, 1)); },
                    ErrorKind::input);
}

std::string read_error(const fs::path& path) {
  return file_error([&] { TraceReader reader(path); });
}

void write_sample(const fs::path& path, bool force = false, std::size_t rows = 3000) {
  TraceWriter writer(path, force, sample_header(), sample_plan(rows, rows / 100));
  write_rows(writer, 0, rows);
  writer.finish("complete", sample_summary);
}

/// While it lives, no file of this process grows beyond `bytes`: writing more fails as on a full disk.
class SizeLimit {
 public:
  explicit SizeLimit(rlim_t bytes) : handler_(::signal(SIGXFSZ, SIG_IGN)) {
    ::getrlimit(RLIMIT_FSIZE, &before_);
    const rlimit now{bytes, before_.rlim_max};
    ::setrlimit(RLIMIT_FSIZE, &now);
  }
  ~SizeLimit() {
    ::setrlimit(RLIMIT_FSIZE, &before_);
    ::signal(SIGXFSZ, handler_);
  }
  SizeLimit(const SizeLimit&) = delete;
  SizeLimit& operator=(const SizeLimit&) = delete;

 private:
  rlimit before_{};
  void (*handler_)(int);
};

/// Catches what goes to standard error meanwhile.
class QuietCheck {
 public:
  explicit QuietCheck(const fs::path& path) : path_(path), saved_(::dup(2)) {
    if (std::freopen(path.c_str(), "w", stderr) == nullptr) FAIL("cannot redirect standard error");
  }
  std::string stop() {
    std::fflush(stderr);
    ::dup2(saved_, 2);
    ::close(saved_);
    saved_ = -1;
    return get(path_);
  }
  ~QuietCheck() {
    if (saved_ >= 0) stop();
  }
  QuietCheck(const QuietCheck&) = delete;
  QuietCheck& operator=(const QuietCheck&) = delete;

 private:
  fs::path path_;
  int saved_;
};

}  // namespace

TEST_CASE("trace: an existing target is kept unless replacing is forced", "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  const auto path = folder / "run.h5";
  put(path, "precious");
  CHECK_THAT(start_error(path), Contains("run.h5: is there already and was left untouched"));
  CHECK(get(path) == "precious");
  CHECK_FALSE(fs::exists(folder / "run.h5.partial"));
  write_sample(path, true);
  CHECK(TraceReader(path).rows() == 3000);
}

TEST_CASE(
    "trace: a target that appears during the run is kept, and the trace as well, which takes no more rows",
    "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  const auto path = folder / "run.h5";
  TraceWriter writer(path, false, sample_header(), sample_plan(9000, 90));
  write_rows(writer, 0, 3000);
  put(path, "precious");
  const auto message = file_error([&] { writer.finish("complete", sample_summary); });
  CHECK_THAT(message,
             Contains("a file of that name has appeared") && Contains("left in") && Contains(".partial"));
  CHECK(get(path) == "precious");
  CHECK(TraceReader(writer.partial_path()).complete());
  // Its columns are cut.
  CHECK_THROWS_AS(writer.time_row(sample_time(3000), sample_row(3000)), std::invalid_argument);
  CHECK_THROWS_AS(writer.cycle_row(30.0, sample_cycle(30)), std::invalid_argument);
  CHECK_THROWS_AS(writer.finish("complete", sample_summary), std::invalid_argument);
  CHECK(check_seal(writer.partial_path()) == Seal::sound);
  CHECK(TraceReader(writer.partial_path()).rows() == 3000);
}

TEST_CASE("trace: the rows of an unfinished run are kept unless replacing is forced",
          "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  const auto path = folder / "run.h5";
  {
    TraceWriter writer(path, false, sample_header(), sample_plan(100, 1));
    write_rows(writer, 0, 50);
  }
  CHECK_THAT(start_error(path), Contains("run.h5.partial") && Contains("it can be read"));
  CHECK(TraceReader(folder / "run.h5.partial").rows() == 50);
  write_sample(path, true);
  CHECK(TraceReader(path).rows() == 3000);
}

TEST_CASE("trace: two runs cannot write the same trace", "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  const auto path = folder / "run.h5";
  TraceWriter writer(path, false, sample_header(), sample_plan(100, 1));
  CHECK_THAT(start_error(path, true), Contains("another run is writing this"));
  write_rows(writer, 0, 100);
  writer.finish("complete", sample_summary);
  CHECK(TraceReader(path).rows() == 100);
}

TEST_CASE("trace: a partial file taken away during the run is noticed", "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  TraceWriter writer(folder / "run.h5", false, sample_header(), sample_plan(100, 1));
  fs::remove(writer.partial_path());
  put(writer.partial_path(), "other");
  CHECK_THAT(file_error([&] { writer.finish("complete", sample_summary); }), Contains("removed or replaced"));
  CHECK(get(writer.partial_path()) == "other");
  CHECK_FALSE(fs::exists(folder / "run.h5"));
}

TEST_CASE("trace: targets that cannot be written are named with the reason", "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  put(folder / "file", "x");
  CHECK_THAT(start_error(folder.path(), true), Contains("is a folder"));
  CHECK_THAT(start_error(folder / "none/run.h5"), Contains("does not exist"));
  CHECK_THAT(start_error(folder / "file/run.h5"), Contains("is not a folder"));
  CHECK_THAT(start_error(folder.path() / ""), Contains("is a folder") || Contains("file name is needed"));
  fs::create_directory(folder / "run.h5.partial");
  CHECK_THAT(start_error(folder / "run.h5", true), Contains("run.h5.partial: is a folder"));
}

TEST_CASE("trace: a folder without permission to write is named", "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  fs::permissions(folder.path(), fs::perms::owner_read | fs::perms::owner_exec | fs::perms::others_read |
                                     fs::perms::others_exec);
  const pid_t child = ::fork();
  if (child == 0) {
    if (::getuid() == 0 && ::setuid(65534) != 0) ::_exit(3);
    try {
      TraceWriter writer(folder / "run.h5", false, sample_header(), sample_plan(10, 1));
    } catch (const Error& error) {
      ::_exit(std::string(error.what()).find("no permission to write in the folder") != std::string::npos
                  ? 0
                  : 2);
    }
    ::_exit(1);
  }
  int status = 0;
  REQUIRE(::waitpid(child, &status, 0) == child);
  CHECK(status == 0);
  fs::permissions(folder.path(), fs::perms::owner_all);
}

TEST_CASE("trace: a disk full at the start leaves nothing behind", "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  QuietCheck quiet(folder / "stderr.txt");
  std::string message;
  {
    const SizeLimit limit(20000);
    message =
        file_error([&] { TraceWriter(folder / "run.h5", false, sample_header(), sample_plan(100000, 1)); });
  }
  CHECK(quiet.stop().empty());
  CHECK_THAT(message, Contains("cannot make room") && Contains("too large", Catch::CaseSensitive::No));
  fs::remove(folder / "stderr.txt");
  CHECK(fs::is_empty(folder.path()));
}

TEST_CASE("trace: a disk full during the run keeps the rows before", "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  const auto path = folder / "run.h5";
  QuietCheck quiet(folder / "stderr.txt");
  {
    TraceWriter writer(path, false, sample_header(), sample_plan(400000, 4000));
    write_rows(writer, 0, 50000);
    writer.flush();
    const SizeLimit limit(fs::file_size(writer.partial_path()) / 2);
    const auto message = file_error([&] { write_rows(writer, 50000, 400000); });
    CHECK_THAT(message, Contains("run.h5.partial: cannot write") && Contains("are left there"));
    CHECK_THROWS_AS(writer.time_row(1e9, sample_row(0)), Error);  // and it does not go on as if all were well
  }
  CHECK(quiet.stop().empty());
  CHECK_FALSE(fs::exists(path));
  const TraceReader reader(folder / "run.h5.partial");
  CHECK(reader.rows() >= 50000);
  const auto flow = reader.read("main_flow");
  std::size_t wrong = 0;
  for (std::size_t row = 0; row < flow.size(); ++row) wrong += flow[row] != -static_cast<double>(row);
  CHECK(wrong == 0);
}

TEST_CASE("trace: files that are no traces are told apart, quietly", "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  const auto path = folder / "run.h5";
  write_sample(path);
  const std::string whole = get(path);
  QuietCheck quiet(folder / "stderr.txt");
  CHECK_THAT(read_error(folder / "none.h5"), Contains("no such file"));
  CHECK_THAT(read_error(folder.path()), Contains("is a folder"));
  put(folder / "empty.h5", "");
  CHECK_THAT(read_error(folder / "empty.h5"), Contains("is empty"));
  put(folder / "text.h5", "time,lambda\n0,1\n");
  CHECK_THAT(read_error(folder / "text.h5"), Contains("is not an HDF5 file"));
  for (const std::size_t length : {whole.size() - 1, whole.size() / 2, std::size_t{2000}, std::size_t{200}}) {
    put(folder / "cut.h5", whole.substr(0, length));
    CHECK_THAT(read_error(folder / "cut.h5"), Contains("cut short"));
  }
  put(folder / "cut.h5", whole.substr(0, 50));
  CHECK_FALSE(read_error(folder / "cut.h5").empty());
  const hid_t foreign = H5Fcreate((folder / "foreign.h5").c_str(), H5F_ACC_TRUNC, H5P_DEFAULT, H5P_DEFAULT);
  H5Fclose(foreign);
  CHECK_THAT(read_error(folder / "foreign.h5"), Contains("not a trace of this program"));
  CHECK(quiet.stop().empty());
}

TEST_CASE("trace: a damaged head ends in an error or leaves the rows right", "[sim][trace][anomaly]") {
  // The head only: deeper in, the HDF5 library itself cannot be trusted with damage.
  const ScratchFolder folder;
  const auto path = folder / "run.h5";
  write_sample(path, false, 200);
  const std::string whole = get(path);
  std::size_t refused = 0;
  for (std::size_t place = 0; place < 24; ++place) {
    CAPTURE(place);
    std::string damaged = whole;
    damaged[place] = static_cast<char>(damaged[place] ^ 0x5a);
    put(folder / "damaged.h5", damaged);
    try {
      const TraceReader reader(folder / "damaged.h5");
      CHECK(reader.read("main_flow", 100, 1) == std::vector<double>{-100.0});
    } catch (const Error& error) {
      CHECK(error.kind() == ErrorKind::file);
      ++refused;
    }
  }
  CHECK(refused >= 8);  // the signature at least
}

TEST_CASE("trace: unknown datasets do not keep a trace from opening", "[sim][trace][limit]") {
  const ScratchFolder folder;
  const auto path = folder / "run.h5";
  write_sample(path);
  const hid_t file = H5Fopen(path.c_str(), H5F_ACC_RDWR, H5P_DEFAULT);
  const hsize_t sizes[2] = {3, 4};
  const hid_t space = H5Screate_simple(2, sizes, nullptr);
  H5Dclose(H5Dcreate2(file, "table", H5T_NATIVE_INT, space, H5P_DEFAULT, H5P_DEFAULT, H5P_DEFAULT));
  H5Gclose(H5Gcreate2(file, "group", H5P_DEFAULT, H5P_DEFAULT, H5P_DEFAULT));
  H5Sclose(space);
  H5Fclose(file);
  const TraceReader reader(path);
  CHECK(reader.channels(Dimension::time).size() == 3);
  CHECK_FALSE(reader.has("table"));
  CHECK(reader.rows() == 3000);
}
