#include <hdf5.h>

#include <catch2/catch.hpp>
#include <fstream>

#include "sim/api/error.hpp"
#include "tests/viz/run_files.hpp"
#include "viz/playback.hpp"
#include "viz/source/trace_source.hpp"

namespace glassbowl::viz {
namespace {

namespace fs = std::filesystem;

std::string refusal_of(const fs::path& file) {
  try {
    TraceSource source(file);
  } catch (const sim::Error& error) {
    return error.what();
  }
  return "";
}

}  // namespace

TEST_CASE("trace source: a small cache reads the same values and stays small", "[viz][source]") {
  TraceSource large(RunFiles::fixed_venturi()), small(RunFiles::fixed_venturi(), 3);
  const sim::TraceReader trace(RunFiles::fixed_venturi());
  for (const char* name : {"bowl_level", "manifold_pressure", "crank_angle", "throttle", "well_level"}) {
    const auto whole = trace.read(name);
    for (std::size_t row = 0; row < whole.size(); row += 97) {
      CHECK(large.value(large.find(name), row) == whole[row]);
      CHECK(small.value(small.find(name), row) == whole[row]);
    }
  }
  CHECK(small.blocks_held() <= 3);
}

TEST_CASE("trace source: times are found by search, ends included", "[viz][source]") {
  TraceSource source(RunFiles::fixed_venturi());
  const auto times = sim::TraceReader(RunFiles::fixed_venturi()).read("time");
  for (std::size_t row = 0; row + 1 < times.size(); row += 41)
    CHECK(source.row_at(0.5 * (times[row] + times[row + 1])) == row);
  CHECK(source.row_at(-5.0) == 0);
  CHECK(source.row_at(99.0) == times.size() - 1);
}

TEST_CASE("trace source: broken and foreign files are refused with their name and one reason",
          "[viz][source][anomaly]") {
  const fs::path folder = RunFiles::folder();
  const fs::path text = folder / "letter.h5", empty = folder / "empty.h5", cut = folder / "cut.h5",
                 other = folder / "other.h5";
  std::ofstream(text) << "Dear reader,\n";
  std::ofstream(empty).flush();
  fs::copy_file(RunFiles::fixed_venturi(), cut, fs::copy_options::overwrite_existing);
  fs::resize_file(cut, 3000);
  H5Fclose(H5Fcreate(other.c_str(), H5F_ACC_TRUNC, H5P_DEFAULT, H5P_DEFAULT));
  for (const auto& file : {folder / "absent.h5", text, empty, cut, other}) {
    const std::string message = refusal_of(file);
    CAPTURE(file, message);
    CHECK(message.find(file.filename().string()) != std::string::npos);
    CHECK(message.size() > file.string().size() + 5);
  }
}

TEST_CASE("playback: steps by degree and by cycle land where the crank says", "[viz][playback]") {
  TraceSource source(RunFiles::fixed_venturi());
  const int crank = source.find("crank_angle");
  Playback playback;
  playback.time = 0.2;
  const double degree = 3.14159265358979323846 / 180.0;
  const double before = Instant(source, playback.time)[crank];
  playback.step_angle(degree, source);
  CHECK(Instant(source, playback.time)[crank] - before == Approx(degree).epsilon(1e-3));
  playback.step_cycles(1, source);
  CHECK(Instant(source, playback.time)[crank] - before == Approx(721 * degree).epsilon(1e-5));
  playback.step_cycles(-1, source);
  playback.step_angle(-degree, source);
  CHECK(playback.time == Approx(0.2).margin(1e-6));
}

TEST_CASE("playback: a looped cycle never leaves its two ends", "[viz][playback]") {
  TraceSource source(RunFiles::fixed_venturi());
  const int crank = source.find("crank_angle");
  Playback playback;
  playback.time = 0.25;
  playback.playing = playback.loop_cycle = true;
  playback.set_rate(0.5);
  const double cycle = 4 * 3.14159265358979323846;
  const double number = std::floor(Instant(source, playback.time)[crank] / cycle);
  double least = 1e9, most = -1e9;
  for (int i = 0; i < 60; ++i) {
    playback.advance(0.013, source);
    const double place = Instant(source, playback.time)[crank] / cycle - number;
    least = std::min(least, place);
    most = std::max(most, place);
  }
  CHECK(least >= -1e-6);
  CHECK(most <= 1.0 + 1e-6);
  CHECK(most - least > 0.5);
}

TEST_CASE("playback: rates stay between real time and 1/2000", "[viz][playback]") {
  Playback playback;
  playback.set_rate(7.0);
  CHECK(playback.rate == 1.0);
  playback.set_rate(1e-9);
  CHECK(playback.rate == 1.0 / 2000.0);
}

}  // namespace glassbowl::viz
