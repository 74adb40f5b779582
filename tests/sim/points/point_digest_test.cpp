#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "sim/run/version.hpp"
#include "sim/studies/blip_study.hpp"
#include "sim/studies/steady_map.hpp"
#include "tests/sim/cases/case_folder.hpp"
#include "tests/sim/studies/study_bike.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

std::string text_of(const fs::path& file) {
  std::ostringstream out;
  out << std::ifstream(file, std::ios::binary).rdbuf();
  return out.str();
}

void write(const fs::path& file, const std::string& text) {
  std::ofstream(file, std::ios::binary) << text;
}

void replace(const fs::path& file, const std::string& what, const std::string& by) {
  std::string text = text_of(file);
  const std::size_t at = text.find(what);
  REQUIRE(at != std::string::npos);
  write(file, text.replace(at, what.size(), by));
}

void run(const std::string& command) {
  INFO(command);
  REQUIRE(std::system((command + " >/dev/null").c_str()) == 0);
}

/// The 64 digits in a source file that the build made.
std::string digest_in(const fs::path& file) {
  const std::string text = text_of(file), mark = "return \"";
  const std::size_t at = text.find(mark);
  REQUIRE(at != std::string::npos);
  return text.substr(at + mark.size(), 64);
}

void copy_sources(const fs::path& to) {
  const fs::path from = GLASSBOWL_SOURCE;
  for (const auto* folder : {"models", "sim"})
    fs::copy(from / folder, to / folder, fs::copy_options::recursive);
  fs::copy(from / "CMakeLists.txt", to / "CMakeLists.txt");
}

std::string digest_of(const fs::path& tree) {
  const std::string output = (tree / "digest.cpp").string();
  const fs::path made = fs::path(GLASSBOWL_BUILD) / "point_digest.cpp";
  run(std::string(GLASSBOWL_CMAKE) + " -DROOT=" + tree.string() + " -DLIST=" + made.string() +
      ".list -DSETTINGS=" + made.string() + ".settings -DOUTPUT=" + output + " -P " +
      (tree / "sim/points/point_digest.cmake").string());
  return digest_in(output);
}

}  // namespace

TEST_CASE("points: after a change of one constant of the physics, kept points are not used",
          "[sim][studies]") {
  const CaseFolder folder;
  copy_sources(folder / "");
  REQUIRE(digest_of(folder / "") == point_digest());
  replace(folder / "models/constants.hpp", "9.80665", "9.81");
  const std::string other = digest_of(folder / "");
  REQUIRE(other != point_digest());

  const ResolvedCase resolved = bike("goat_400");
  const auto base = std::make_shared<const SharedCase>(resolved.text, Sets{});
  const PointAccuracy brief{1e-4, 3, 2};
  for (const PointTask& task :
       {steady_task(base, {from_per_minute(4000.0), 0.5, 0.0, 0.0}, brief),
        steady_task_at_torque(base, {from_per_minute(4000.0), 0.5, 0.0, 0.0}, 1e3, brief),
        blip_task(resolved.text, {"run.duration=0.01 s"}, "as fitted")}) {
    // The same point as the changed program would have kept it.
    std::string key = task.key;
    const std::size_t at = key.find(point_digest());
    REQUIRE(at != std::string::npos);
    key.replace(at, other.size(), other);
    const auto name = folder / "map.points";
    fs::remove(name);
    const std::vector<double> old{1.0, 2.0};
    PointJournal(name).keep(key, old);
    PointJournal journal(name);
    PointScheduler scheduler(&journal, 1);
    CHECK(scheduler.run({task}).front() != old);
    CHECK(scheduler.computed() == 1);
    CHECK(scheduler.taken_over() == 0);
    CHECK(journal.find(key) == old);
  }
}

TEST_CASE("points: a build renews the digest when a source, the list of sources or a flag has changed",
          "[sim][studies]") {
  const CaseFolder folder;
  copy_sources(folder / "");
  write(folder / "CMakeLists.txt",
        "cmake_minimum_required(VERSION 3.25)\nproject(digest LANGUAGES NONE)\n"
        "include(sim/points/point_digest.cmake)\n"
        "make_point_digest(${PROJECT_SOURCE_DIR} ${PROJECT_BINARY_DIR}/point_digest.cpp)\n"
        "add_custom_target(digest ALL DEPENDS ${PROJECT_BINARY_DIR}/point_digest.cpp)\n");
  const std::string cmake = GLASSBOWL_CMAKE, tree = (folder / "").string(),
                    build = (folder / "build").string();
  const auto configure = [&](const std::string& flags) {
    run(cmake + " -S " + tree + " -B " + build + " -G \"" + GLASSBOWL_GENERATOR +
        "\" -DCMAKE_CXX_FLAGS=" + flags);
  };
  const auto built = [&] {
    run(cmake + " --build " + build);
    return digest_in(folder / "build/point_digest.cpp");
  };
  configure("-O2");
  const std::string first = built();
  CHECK(built() == first);
  replace(folder / "models/fluids/atmosphere.hpp", "611.21", "611.2");
  const std::string changed = built();  // not configured again by hand
  CHECK(changed != first);
  write(folder / "sim/solver/added.hpp", "#pragma once\n");
  const std::string added = built();
  CHECK(added != changed);
  configure("-O1");
  CHECK(built() != added);
}

}  // namespace glassbowl::sim
