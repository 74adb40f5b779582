#include <sys/mman.h>
#include <unistd.h>

#include <array>
#include <cstdint>
#include <string>

#include "sim/api/error.hpp"
#include "sim/api/trace.hpp"

// Any bytes as a trace: it opens and all its channels can be read, or it is refused in one error. The file
// lies in memory.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  namespace sim = glassbowl::sim;
  static const int file = ::memfd_create("trace", 0);
  static const std::string path = "/proc/self/fd/" + std::to_string(file);
  if (::ftruncate(file, 0) != 0 || ::pwrite(file, data, size, 0) != static_cast<ssize_t>(size)) return 0;
  try {
    const sim::TraceReader reader(path);
    std::array<double, 16> values{};
    for (const auto dimension : {sim::Dimension::time, sim::Dimension::cycle})
      for (const sim::Channel& channel : reader.channels(dimension))
        reader.read_into(channel.name, 0, values);
  } catch (const sim::Error&) {
  }
  return 0;
}
