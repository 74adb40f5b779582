#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cstdint>
#include <fstream>
#include <iterator>
#include <string>

#include "sim/api/error.hpp"
#include "sim/api/trace.hpp"
#include "sim/trace/hdf5.hpp"
#include "sim/trace/trial.hpp"
#include "tests/sim/trace/sample_trace.hpp"

namespace sim = glassbowl::sim;

/// In place of the child process that a trace is tried in first: what runs inside it, in this process. There,
/// the HDF5 library's own crashes cost nothing; here they end the fuzzer (`read_traces` tells them apart).
void sim::try_reading(const std::filesystem::path& path, const std::function<void()>& read) {
  try {
    read();
  } catch (const Hdf5Failure& failure) {
    throw Error(ErrorKind::file, path.string() + ": is damaged: " + failure.what());
  }
}

extern "C" std::size_t LLVMFuzzerMutate(std::uint8_t* data, std::size_t size, std::size_t most);

// Behind the structure lie rows, which are numbers whatever they are: most changes are spent before them.
extern "C" std::size_t LLVMFuzzerCustomMutator(std::uint8_t* data, std::size_t size, std::size_t most,
                                               unsigned seed) {
  constexpr std::size_t structure = 12288;
  if (seed % 8 == 0 || size < structure) return LLVMFuzzerMutate(data, size, most);
  std::array<std::uint8_t, structure> changed;
  std::copy_n(data, structure, changed.begin());
  LLVMFuzzerMutate(changed.data(), structure, structure);
  std::copy_n(changed.begin(), structure, data);
  return size;
}

namespace {

/// Whether it opens and a channel of each kind can be read.
bool reads(const std::uint8_t* data, std::size_t size) {
  static const std::string path =
      (std::filesystem::temp_directory_path() / fmt::format("fuzzed_trace.{}", ::getpid())).string();
  static const int file = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
  if (::ftruncate(file, 0) != 0 || ::pwrite(file, data, size, 0) != static_cast<ssize_t>(size))
    __builtin_trap();
  try {
    const sim::TraceReader reader(path);
    std::array<double, 16> values{};
    for (const auto dimension : {sim::Dimension::time, sim::Dimension::cycle})
      if (const auto& channels = reader.channels(dimension); !channels.empty())
        reader.read_into(channels.back().name, 0, values);
    return true;
  } catch (const sim::Error&) {
    return false;
  }
}

}  // namespace

// A fuzzer that cannot open a sound trace either would try nothing.
extern "C" int LLVMFuzzerInitialize(int*, char***) {
  const sim::test::ScratchFolder folder;
  {
    sim::TraceWriter writer(folder / "sound.h5", false, sim::test::sample_header(),
                            sim::test::sample_plan(30, 3));
    sim::test::write_rows(writer, 0, 30);
    writer.finish("complete", sim::test::sample_summary);
  }
  std::ifstream file(folder / "sound.h5", std::ios::binary);
  const std::vector<char> bytes{std::istreambuf_iterator<char>(file), {}};
  if (!reads(reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size())) __builtin_trap();
  return 0;
}

// Any bytes as a trace: it can be read, or it is refused in one error.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  reads(data, size);
  return 0;
}
