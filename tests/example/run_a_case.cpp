#include <cstdio>
#include <exception>
#include <vector>

#include "sim/api/case.hpp"
#include "sim/api/run.hpp"
#include "sim/api/study.hpp"
#include "sim/api/trace.hpp"

// What another program can do with the library: read a case, run it, read its trace, ask a study. Run as
//   run_a_case CASE TRACE.h5
int main(int count, char** given) {
  using namespace glassbowl::sim;
  if (count != 3) return std::fputs("give a case and the trace to write\n", stderr), 2;
  try {
    const Case ride(given[1], {"run.settle=0.3 s", "run.duration=0.2 s"});
    RunSettings settings;
    settings.trace = given[2];
    settings.replace = true;
    const RunResults results = run(ride, settings);
    std::printf("%s: lambda %.3f at the carburetor\n", ride.name().c_str(),
                results.number("lambda_carburetor"));

    const TraceReader trace(settings.trace);
    const std::vector<double> pressure = trace.read("throat_pressure");
    double lowest = pressure.front();
    for (const double p : pressure) lowest = p < lowest ? p : lowest;
    std::printf("lowest pressure in the throat %.1f kPa in %zu rows\n", lowest / 1e3, pressure.size());

    StudyQuestion question;
    question.speeds = {350.0};  // rad/s
    question.openings = {0.3};
    question.altitudes = {0.0};
    const StudyAnswer map = run_study(ride, question);
    std::printf("%s\nsteady lambda %.3f\n", map.verdict.c_str(), map.figure("lambda_trapped").values.front());
    const bool sound = lowest > 2e4 && lowest < 101325.0 && results.complete && !map.verdict.empty();
    return sound && results.number("lambda_carburetor") > 0.3 ? 0 : 1;
  } catch (const std::exception& failure) {
    std::fprintf(stderr, "%s\n", failure.what());
    return 1;
  }
}
