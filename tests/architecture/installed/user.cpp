#include <cstdio>

#include "models/fuel/jet.hpp"
#include "sim/api/error.hpp"
#include "sim/api/trace.hpp"

// Uses a part of the models, and learns from the library that a file is not a trace.
int main(int, char** argv) {
  const glassbowl::models::Jet<double> jet;
  const bool flows = glassbowl::models::jet_flow(jet, 1000.0, 740.0, 0.6e-6) > 0.0;
  try {
    const glassbowl::sim::TraceReader reader(argv[0]);
  } catch (const glassbowl::sim::Error& error) {
    std::puts(error.what());
    return flows ? 0 : 1;
  }
  return 1;
}
