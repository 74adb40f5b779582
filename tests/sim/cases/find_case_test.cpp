#include "sim/cases/find_case.hpp"

#include <catch2/catch.hpp>

#include "tests/sim/cases/case_folder.hpp"
#include "tests/sim/cases/message_of.hpp"

namespace glassbowl::sim {

TEST_CASE("find case: a file as given, then a shipped one, then a hint", "[sim][run]") {
  const CaseFolder folder;
  const auto own = folder.write("mine.toml", "title = \"x\"\n");
  CHECK(find_case(own.string()) == own);
  CHECK(find_case("bikes/mule_750").filename() == "mule_750.toml");
  const auto error = error_of([] { find_case("warm_idel"); });
  REQUIRE(error.has_value());
  CHECK(error->kind() == ErrorKind::input);
  CHECK_THAT(error->what(), Catch::Contains("did you mean \"warm_idle\""));
  CHECK_THAT(message_of([] { find_case("mule_750"); }), Catch::Contains("did you mean \"bikes/mule_750\""));
  CHECK_THAT(message_of([] { find_case("../../../etc/passwd.toml"); }), Catch::Contains("no such file"));
  CHECK_THAT(message_of([&] { find_case((folder / "").string()); }), Catch::Contains("is a folder"));
  CHECK_FALSE(is_trace(own));
}

}  // namespace glassbowl::sim
