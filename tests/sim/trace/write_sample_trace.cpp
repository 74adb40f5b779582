#include <cstdio>
#include <exception>

#include "tests/sim/trace/sample_trace.hpp"

/// Writes a trace at the path given, for programs other than ours to read.
int main(int argc, char** argv) {
  using namespace glassbowl::sim;
  if (argc != 2) {
    std::fputs("usage: write_sample_trace TRACE\n", stderr);
    return 2;
  }
  try {
    TraceWriter writer(argv[1], true, test::sample_header(), test::sample_plan(60000, 600));
    test::write_rows(writer, 0, 23456);
    writer.finish("stopped early: the sample is long enough", test::sample_summary);
  } catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
  }
  return 0;
}
