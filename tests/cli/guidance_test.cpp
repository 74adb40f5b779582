#include <H5Cpp.h>

#include <catch2/catch.hpp>
#include <cstdlib>
#include <regex>
#include <sstream>

#include "tests/cli/program.hpp"

// What the program says to those who do not know its names, and of itself.
namespace glassbowl::sim {
namespace {

std::string error_of(const CaseFolder& folder, const std::vector<std::string>& arguments) {
  const auto result = run_program(folder, arguments);
  CHECK(result.code == 2);
  CHECK(result.out.empty());
  return result.err;
}

/// Puts another version and, if asked, another case into a trace, as another program would: without its seal.
void rewrite(const std::filesystem::path& file, const std::string& version, const std::string& add = "") {
  H5::H5File trace(file.string(), H5F_ACC_RDWR);
  const H5::StrType text(H5::PredType::C_S1, H5T_VARIABLE);
  trace.removeAttr("program_version");
  const H5::StrType fixed(H5::PredType::C_S1, version.size());
  trace.createAttribute("program_version", fixed, H5::DataSpace()).write(fixed, version);
  if (add.empty()) return;
  auto dataset = trace.openDataSet("case_resolved");
  const auto type = dataset.getStrType();
  std::string resolved;
  dataset.read(resolved, type);
  dataset.write(resolved + add, type);
}

}  // namespace

TEST_CASE("guidance: without arguments the program names six jobs, each with a command that exists",
          "[cli]") {
  const CaseFolder folder;
  const auto result = run_program(folder, {});
  CHECK(result.code == 0);
  CHECK(result.err.empty());
  CHECK_THAT(result.out, Catch::Contains("seizes pistons"));
  const std::string help = run_program(folder, {"--help"}).out;
  const std::regex job("\n  .*  (glassbowl|glassbowl-view) ([^ \n]+)");
  int jobs = 0;
  for (std::sregex_iterator found(result.out.begin(), result.out.end(), job), end; found != end; ++found) {
    ++jobs;
    if ((*found)[1] == "glassbowl") CHECK_THAT(help, Catch::Contains("\n  " + (*found)[2].str() + " "));
  }
  CHECK(jobs == 6);
}

TEST_CASE("guidance: an unknown command, option, list, case or key gets the nearest name", "[cli]") {
  const CaseFolder folder;
  folder.write("wrong.toml", "base = \"runs/blip.toml\"\n[carburetor.main.jet]\nboer = \"1.5 mm\"\n");
  CHECK_THAT(error_of(folder, {"overlop"}), Catch::Contains("did you mean \"overlap\"?"));
  CHECK_THAT(error_of(folder, {"jets", "bikes/mule_750", "--speds", "4000 rpm"}),
             Catch::Contains("--speds: ") && Catch::Contains("did you mean \"--speeds\"?") &&
                 Catch::Contains("glassbowl jets --help"));
  CHECK_THAT(error_of(folder, {"run", "blip", "--no-trase=1"}), Catch::Contains("\"--no-trace\""));
  CHECK_THAT(error_of(folder, {"--vesion"}), Catch::Contains("\"--version\""));
  CHECK_THAT(error_of(folder, {"list", "chanels"}), Catch::Contains("did you mean \"channels\"?"));
  CHECK_THAT(error_of(folder, {"map", "bikes/mul_750"}), Catch::Contains("did you mean \"bikes/mule_750\"?"));
  CHECK_THAT(error_of(folder, {"run", "wrong.toml"}), Catch::Contains("did you mean \"bore\"?"));
  CHECK_THAT(error_of(folder, {"list", "bikes", "--schema"}),
             Catch::Contains("glassbowl list keys --schema"));
  CHECK_FALSE(std::regex_search(error_of(folder, {"xyzzyxyzzy"}), std::regex("did you mean")));
}

TEST_CASE("version: names version, commit, instruction sets and libraries", "[cli]") {
  const CaseFolder folder;
  const auto result = run_program(folder, {"--version"});
  INFO(result.out);
  CHECK(result.code == 0);
  CHECK(std::regex_search(result.out, std::regex("^glassbowl [0-9]+\\.[0-9]+\\.[0-9]+\n")));
  CHECK(std::regex_search(result.out, std::regex("\ncommit: ([0-9a-f]{12}\\+?|unknown, [a-z ]+)\n")));
  CHECK(std::regex_search(result.out,
                          std::regex("\ninstruction sets: scalar[a-z0-9, ]* here, [a-z0-9]+ used\n")));
  unsigned major = 0, minor = 0, release = 0;
  H5get_libversion(&major, &minor, &release);
  std::ostringstream hdf5;
  hdf5 << "HDF5 " << major << '.' << minor << '.' << release;
  CHECK_THAT(result.out, Catch::Contains(hdf5.str()) && Catch::Contains("Eigen 3."));
}

TEST_CASE("version: a trace of another version runs with a note, and one that cannot says how to go on",
          "[cli]") {
  const CaseFolder folder;
  folder.write("short.toml", "base = \"runs/blip.toml\"\n[run]\nsettle = \"0 s\"\nduration = \"0.02 s\"\n");
  REQUIRE(run_program(folder, {"run", "short.toml", "-o", "now.h5"}).code == 0);
  const auto same = run_program(folder, {"run", "now.h5", "--no-trace", "--no-sensitivity"});
  CHECK_THAT(same.err, !Catch::Contains("was written by"));

  rewrite(folder / "now.h5", "0.1.0");
  const auto older = run_program(folder, {"run", "now.h5", "--no-trace", "--no-sensitivity"});
  INFO(older.err);
  CHECK(older.code == 0);
  const auto figures = [](const std::string& text) { return text.substr(0, text.find("\n  simulated ")); };
  CHECK(figures(older.out) == figures(same.out));  // how fast it was stands last
  CHECK_THAT(older.err, Catch::Contains("now.h5 was written by glassbowl 0.1.0, and this is"));

  rewrite(folder / "now.h5", "0.1.0", "\n[carburetor.gone]\nsize = \"1 mm\"\n");
  const auto refused = error_of(folder, {"run", "now.h5", "--no-trace"});
  CHECK_THAT(refused, Catch::Contains("carburetor.gone") && Catch::Contains("written by glassbowl 0.1.0") &&
                          Catch::Contains("case_resolved") && Catch::Contains("case.toml"));
}

}  // namespace glassbowl::sim
