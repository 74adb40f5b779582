#include <dlfcn.h>
#include <execinfo.h>
#include <fcntl.h>
#include <fmt/format.h>
#include <sys/mman.h>
#include <sys/time.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <csignal>
#include <cstdint>
#include <fstream>
#include <iterator>
#include <string_view>

#include "sim/api/error.hpp"
#include "sim/api/trace.hpp"
#include "sim/trace/hdf5.hpp"
#include "sim/trace/read_in_child.hpp"
#include "tests/sim/trace/sample_trace.hpp"

// Any bytes as a trace: it can be read, or it is refused in one error.
//
// The HDF5 library crashes on damaged structure, so the program reads an unknown trace in a child process
// first. Here a child reads input after input, and another takes its place when the library ends it. What
// ends it otherwise is a fault of ours: an error that a sanitizer finds in our code, a leak, a wrong exit.

namespace sim = glassbowl::sim;

constexpr int ended_by_library = 42;

/// Whether one of the twelve innermost frames is of the library, our callbacks from there included: those are
/// for the tests. Then the reader has been ended by it.
void leave_if_by_library() {
  std::array<void*, 24> frames;
  const int count = ::backtrace(frames.data(), frames.size());
  for (int i = 0; i < std::min(count, 12); ++i) {
    Dl_info where{};
    if (::dladdr(frames[static_cast<std::size_t>(i)], &where) == 0 || where.dli_fname == nullptr) continue;
    if (std::string_view(where.dli_fname).find("libhdf5") != std::string_view::npos)
      ::_exit(ended_by_library);
  }
}

/// In place of the program's child: what runs inside it, in this process.
std::string sim::read_in_child(const std::filesystem::path& named, const std::function<std::string()>& read) {
  try {
    return read();
  } catch (const Hdf5Failure& failure) {
    throw Error(ErrorKind::file, named.string() + ": is damaged: " + failure.what());
  }
}

extern "C" {
std::size_t LLVMFuzzerMutate(std::uint8_t* data, std::size_t size, std::size_t most);
int __lsan_do_recoverable_leak_check();
extern std::uint8_t __start___sancov_cntrs[], __stop___sancov_cntrs[];  // what the compiler counts in
}

namespace {

constexpr long inputs_between_leak_checks = 50;  // few readers live to see more
// Of processor time; a sound trace takes 2 ms. The program's child has a second, and some damage makes the
// library loop for ever.
constexpr timeval longest{0, 20'000};

std::filesystem::path file_path;
int file = -1;

/// Unfinished and finished, to begin with: no bytes made by chance are a trace.
std::array<std::vector<std::uint8_t>, 2> sound_traces;
constexpr std::size_t seal_bytes = 32;

std::vector<std::uint8_t> bytes_of(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

void write_input(const std::uint8_t* data, std::size_t size) {
  const auto length = static_cast<ssize_t>(size);
  if (::pwrite(file, data, size, 0) != length || ::ftruncate(file, length) != 0) {
    fmt::print(stderr, "{} cannot be written\n", file_path.string());
    __builtin_trap();
  }
}

/// Whether the input opens and a channel of each kind can be read.
bool reads() {
  try {
    const sim::TraceReader reader(file_path);
    std::array<double, 16> values{};
    for (const auto dimension : {sim::Dimension::time, sim::Dimension::cycle})
      if (const auto& channels = reader.channels(dimension); !channels.empty())
        reader.read_into(channels.back().name, 0, values);
    return true;
  } catch (const sim::Error&) {
    return false;
  }
}

/// What the compiler counts in a child, handed to this process for the fuzzer. Not so for an input that ends
/// the library: those would fill the corpus.
class Counts {
 public:
  Counts()
      : shared_(static_cast<std::uint8_t*>(
            ::mmap(nullptr, size(), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0))) {}
  // The sanitizer would take gaps between the counters for faults.
  [[clang::no_sanitize("address")]] void clear() {
    for (std::size_t i = 0; i < size(); ++i) __start___sancov_cntrs[i] = 0;
  }
  [[clang::no_sanitize("address")]] void hand_out() {
    for (std::size_t i = 0; i < size(); ++i) shared_[i] = __start___sancov_cntrs[i];
  }
  [[clang::no_sanitize("address")]] void take() {
    for (std::size_t i = 0; i < size(); ++i) __start___sancov_cntrs[i] |= shared_[i];
  }

 private:
  static std::size_t size() {
    return static_cast<std::size_t>(__stop___sancov_cntrs - __start___sancov_cntrs);
  }
  std::uint8_t* shared_;
};

/// A system call, once more if the fuzzer's clock has interrupted it.
template <class Call>
auto again(Call call) {
  auto result = call();
  while (result < 0 && errno == EINTR) result = call();
  return result;
}

/// Reads in a child of a child: the first is small, as it begins before the fuzzer has gathered anything, and
/// so costs little to copy whenever the library has ended the second.
class Reader {
 public:
  void begin() {
    if (::pipe(orders_) != 0 || ::pipe(answers_) != 0) ::_exit(3);
    if (::fork() == 0) {
      ::close(orders_[1]);
      ::close(answers_[0]);
      keep_a_reader();
    }
    ::close(orders_[0]);
    ::close(answers_[1]);
  }

  /// Has one input read. False if the reader ended for another reason than the library's.
  bool read(const std::uint8_t* data, std::size_t size) {
    ++inputs_;
    write_input(data, size);
    const char order = 'r';
    char answer = failed;
    if (again([&] { return ::write(orders_[1], &order, 1); }) != 1 ||
        again([&] { return ::read(answers_[0], &answer, 1); }) != 1)
      return false;
    crashes_ += answer == crashed;
    slow_ += answer == took_too_long;
    if (answer == was_read) counts_.take();
    return answer != failed;
  }

  void tell() const {
    fmt::print(stderr, "traces: {} read, of them {} crashed the HDF5 library, {} took it too long\n", inputs_,
               crashes_, slow_);
  }

 private:
  static constexpr char was_read = 'r', crashed = 'c', took_too_long = 't', failed = 'f';

  void answer(char word) {
    if (::write(answers_[1], &word, 1) != 1) ::_exit(0);
  }

  [[noreturn]] void keep_a_reader() {
    for (;;) {
      const pid_t child = ::fork();
      if (child == 0) read_on();
      int status = 0;
      ::waitpid(child, &status, 0);
      if (WIFEXITED(status) && WEXITSTATUS(status) == 0) ::_exit(0);
      const bool slow = WIFSIGNALED(status) && WTERMSIG(status) == SIGPROF;
      const bool crash = WIFEXITED(status) && WEXITSTATUS(status) == ended_by_library;
      if (!slow && !crash) fmt::print(stderr, "the reader ended with status {:#x}\n", status);
      answer(slow ? took_too_long : crash ? crashed : failed);
    }
  }

  [[noreturn]] void read_on() {
    // The library's own guard of its stack ends it so.
    std::signal(SIGABRT, [](int number) {
      leave_if_by_library();
      std::signal(number, SIG_DFL);
    });
    for (long inputs = 1;; ++inputs) {
      char order = 0;
      if (::read(orders_[0], &order, 1) != 1) ::_exit(0);
      const itimerval bound{{}, longest}, none{};
      ::setitimer(ITIMER_PROF, &bound, nullptr);
      counts_.clear();
      reads();
      counts_.hand_out();
      ::setitimer(ITIMER_PROF, &none, nullptr);
      if (inputs % inputs_between_leak_checks == 0 && __lsan_do_recoverable_leak_check() != 0) ::_exit(4);
      answer(was_read);
    }
  }

  Counts counts_;
  int orders_[2] = {}, answers_[2] = {};
  long inputs_ = 0, crashes_ = 0, slow_ = 0;
};

Reader reader;

}  // namespace

extern "C" void __asan_on_error() {
  leave_if_by_library();
}

extern "C" int LLVMFuzzerInitialize(int*, char***) {
  std::signal(SIGPIPE, SIG_IGN);
  // Half a megabyte is taken and given back with every file, unless the library may keep it.
  ::H5set_free_list_limits(-1, -1, -1, -1, -1, -1);
  file_path = std::filesystem::temp_directory_path() / fmt::format("fuzzed_trace.{}", ::getpid());
  file = ::open(file_path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
  std::atexit([] {
    reader.tell();
    ::unlink(file_path.c_str());
  });
  const sim::test::ScratchFolder folder;
  sim::TraceWriter writer(folder / "sound.h5", false, sim::test::sample_header(),
                          sim::test::sample_plan(30, 3));
  sim::test::write_rows(writer, 0, 30);
  writer.flush();
  sound_traces[0] = bytes_of(writer.partial_path());
  writer.finish("complete", sim::test::sample_summary);
  sound_traces[1] = bytes_of(folder / "sound.h5");
  // A fuzzer that cannot open a sound trace either would try nothing.
  for (const auto& trace : sound_traces) {
    write_input(trace.data(), trace.size());
    if (!reads()) __builtin_trap();
  }
  sound_traces[1].resize(sound_traces[1].size() - seal_bytes);  // which would refuse all that follows
  reader.begin();
  return 0;
}

// Behind the structure lie rows, which are numbers whatever they are: most changes are spent before them.
extern "C" std::size_t LLVMFuzzerCustomMutator(std::uint8_t* data, std::size_t size, std::size_t most,
                                               unsigned seed) {
  constexpr std::size_t structure = 12288;
  if (size < 64) {
    const auto& trace = sound_traces[seed % 2];
    if (trace.size() > most) {
      fmt::print(stderr, "a sound trace has {} bytes: no longer input than {} would try nothing\n",
                 trace.size(), most);
      __builtin_trap();
    }
    std::copy(trace.begin(), trace.end(), data);
    return trace.size();
  }
  if (seed % 8 == 0 || size < structure) return LLVMFuzzerMutate(data, size, most);
  std::array<std::uint8_t, structure> changed;
  std::copy_n(data, structure, changed.begin());
  LLVMFuzzerMutate(changed.data(), structure, structure);
  std::copy_n(changed.begin(), structure, data);
  return size;
}

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (!reader.read(data, size)) __builtin_trap();
  return 0;
}
