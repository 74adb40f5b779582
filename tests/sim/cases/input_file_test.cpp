#include "sim/cases/input_file.hpp"

#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include <catch2/catch.hpp>

#include "sim/api/trace.hpp"
#include "sim/cases/find_case.hpp"
#include "sim/cases/layers.hpp"
#include "sim/output/disk_file.hpp"
#include "tests/sim/cases/case_folder.hpp"
#include "tests/sim/cases/message_of.hpp"

using namespace glassbowl::sim;
using Catch::Matchers::Contains;

TEST_CASE("input file: what is no regular file is refused at once and named", "[sim][cases][anomaly]") {
  const CaseFolder home;
  alarm(20);  // whoever waits for a writer is ended
  REQUIRE(mkfifo((home / "pipe").c_str(), 0600) == 0);
  REQUIRE(mkfifo((home / "base.toml").c_str(), 0600) == 0);
  std::filesystem::create_directory(home / "folder");
  std::filesystem::create_symlink(home / "pipe", home / "link");
  const int listener = socket(AF_UNIX, SOCK_STREAM, 0);
  sockaddr_un address{AF_UNIX, {}};
  const std::string ear = (home / "ear").string();
  REQUIRE(ear.size() < sizeof address.sun_path);
  ear.copy(address.sun_path, ear.size());
  REQUIRE(bind(listener, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0);

  for (const auto& [name, kind] : {std::pair{"pipe", "a FIFO (named pipe)"},
                                   {"link", "a FIFO (named pipe)"},
                                   {"folder", "a folder"},
                                   {"ear", "a socket"}}) {
    CAPTURE(name);
    const auto path = home / name;
    CHECK(other_than_a_file(path) == kind);
    CHECK_THAT(message_of([&] { InputFile(path, path.string(), "give a case"); }),
               Contains(std::string(": this is ") + kind + "; give a case"));
    CHECK_THAT(message_of([&] { find_case(path.string()); }), Contains(kind));
    CHECK_THAT(message_of([&] { is_trace(path); }), Contains(kind));
    CHECK_THAT(message_of([&] { Layers::read(path, {}, {}); }), Contains(kind));
    CHECK_THROWS_AS(DiskFile::open_to_read(path), std::system_error);
    CHECK_THAT(message_of([&] { TraceReader(path).rows(); }),
               Contains(std::string("is ") + kind + ", not a trace"));
  }
  CHECK_THAT(message_of([] { find_case("/dev/zero"); }), Contains("a device"));
  const auto file = home.write("run.toml", "base = 'base.toml'\n");
  CHECK_THAT(message_of([&] { Layers::read(file, {}, {}); }),
             Contains("base = \"base.toml\": this is a FIFO (named pipe)"));
  alarm(0);
  close(listener);

  CHECK(other_than_a_file(home / "none").empty());
  CHECK(InputFile(file, "run", "").read(4) == "base");
  CHECK(InputFile(file, "run", "").read(1000) == "base = 'base.toml'\n");
}
