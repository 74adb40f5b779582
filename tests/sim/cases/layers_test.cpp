#include "sim/cases/layers.hpp"

#include <fmt/format.h>

#include <catch2/catch.hpp>
#include <cstdlib>

#include "sim/cases/case_limits.hpp"
#include "sim/cases/keys.hpp"
#include "sim/cases/layer.hpp"
#include "tests/sim/cases/case_folder.hpp"
#include "tests/sim/cases/message_of.hpp"

using namespace glassbowl::sim;
using Catch::Matchers::Contains;

namespace {

/// The value of a text key in the topmost layer that has it.
std::string value_of(const Layers& layers, const std::string& key) {
  for (const Layer& layer : layers.all()) {
    if (const auto* node = find_node(layer.table, key)) return write_value(*node);
  }
  return "(none)";
}

std::vector<std::string> names(const Layers& layers) {
  std::vector<std::string> result;
  for (const auto& file : layers.files()) result.push_back(std::filesystem::path(file).filename().string());
  return result;
}

}  // namespace

TEST_CASE("layers: a file wins over its bases, a later base over an earlier one", "[sim][cases]") {
  const CaseFolder home;
  home.write("bikes/a.toml", "x = 'a'\ny = 'a'\nz = 'a'\n");
  home.write("bikes/b.toml", "x = 'b'\ny = 'b'\n");
  const auto file = home.write("runs/run.toml", "base = ['../bikes/a.toml', '../bikes/b.toml']\nx = 'run'\n");
  const Layers layers = Layers::read(file, {}, {});
  CHECK(value_of(layers, "x") == "\"run\"");
  CHECK(value_of(layers, "y") == "\"b\"");
  CHECK(value_of(layers, "z") == "\"a\"");
  CHECK(names(layers) == std::vector<std::string>{"run.toml", "b.toml", "a.toml"});
  CHECK(layers.name() == file.string());
}

TEST_CASE("layers: a base is sought from the file that names it", "[sim][cases]") {
  const CaseFolder home;
  home.write("bikes/parts/jet.toml", "x = 'jet'\n");
  home.write("bikes/mule.toml", "base = 'parts/jet.toml'\n");
  const auto file = home.write("runs/run.toml", "base = '../bikes/mule.toml'\n");
  CHECK(value_of(Layers::read(file, {}, {}), "x") == "\"jet\"");
}

TEST_CASE("layers: a base that two files share stands below both", "[sim][cases]") {
  const CaseFolder home;
  home.write("common.toml", "x = 'common'\n");
  home.write("b.toml", "base = 'common.toml'\nx = 'b'\n");
  home.write("c.toml", "base = 'common.toml'\n");
  const auto file = home.write("a.toml", "base = ['b.toml', 'c.toml']\n");
  const Layers layers = Layers::read(file, {}, {});
  CHECK(value_of(layers, "x") == "\"b\"");
  CHECK(names(layers) == std::vector<std::string>{"a.toml", "c.toml", "b.toml", "common.toml"});
}

TEST_CASE("layers: shipped cases are found when no file beside the case has the name", "[sim][cases]") {
  const CaseFolder home, shipped;
  shipped.write("bikes/mule.toml", "base = 'fuels/pump.toml'\nx = 'shipped'\n");
  shipped.write("fuels/pump.toml", "y = 'shipped'\n");
  const auto file = home.write("runs/run.toml", "base = 'bikes/mule.toml'\n");
  CHECK(value_of(Layers::read(file, {}, shipped / ""), "x") == "\"shipped\"");
  CHECK(value_of(Layers::read(file, {}, shipped / ""), "y") == "\"shipped\"");
  home.write("runs/bikes/mule.toml", "x = 'own'\n");
  CHECK(value_of(Layers::read(file, {}, shipped / ""), "x") == "\"own\"");
  const Layers parsed = Layers::parse("base = 'bikes/mule.toml'", "memory", {}, shipped / "");
  CHECK(value_of(parsed, "y") == "\"shipped\"");
  CHECK(parsed.all().back().source == "fuels/pump.toml");
}

TEST_CASE("layers: the shipped folder of this build exists", "[sim][cases]") {
  CHECK(std::filesystem::is_directory(shipped_cases()));
}

TEST_CASE("layers: overrides win, the last one most, as values or as text", "[sim][cases]") {
  const Layers layers =
      Layers::parse("a = 1\n[b]\nc = 2\nd = 3\n", "case.toml",
                    {"b.c=5", "b.c = 1.25 mm", "n.e=[1, 2]", "f=true", "g='x'", "h=1\ni=2", "j="}, {});
  CHECK(value_of(layers, "a") == "1");
  CHECK(value_of(layers, "b.c") == "\"1.25 mm\"");
  CHECK(value_of(layers, "b.d") == "3");
  CHECK(value_of(layers, "n.e") == "[1, 2]");
  CHECK(value_of(layers, "f") == "true");
  CHECK(value_of(layers, "g") == "\"x\"");
  CHECK(value_of(layers, "h") == "\"1\\u000Ai=2\"");
  CHECK(value_of(layers, "i") == "(none)");
  CHECK(value_of(layers, "j") == "\"\"");
  CHECK(layers.all()[5].name == "--set b.c");
  CHECK(layers.files() == std::vector<std::string>{"case.toml"});
}

TEST_CASE("layers: overrides that are none are refused as wrong input", "[sim][cases][anomaly]") {
  const auto attempt = [](const std::string& set) {
    return error_of([&] { Layers::parse("", "case.toml", {set}, {}); });
  };
  for (const char* set : {"bore", "=1", "a..b=1", ".a=1", "a.=1", "a b=1", "\"a\"=1", "a\n=1"}) {
    INFO(set);
    const auto error = attempt(set);
    REQUIRE(error);
    CHECK(error->kind() == ErrorKind::input);
    CHECK(error->exit_code() == 2);
    CHECK_THAT(error->what(),
               Contains("is not key.path=VALUE") && Contains("carburetor.main.jet.bore=1.25 mm"));
  }
  CHECK_THAT(attempt("base=x.toml")->what(), Contains("base cannot be set"));
  std::string deep = "a";
  for (int i = 0; i < 20; ++i) deep += ".a";
  CHECK_THAT(attempt(deep + "=1")->what(), Contains("at most 16 parts"));
  CHECK_THAT(attempt("a=" + std::string(limits::set_bytes, 'x'))->what(), Contains("64 KiB"));
  CHECK_THAT(message_of([] {
               Layers::parse("", "case.toml", std::vector<std::string>(limits::sets + 1, "a=1"), {});
             }),
             Contains("257 times"));
}

TEST_CASE("layers: bases may not leave the case's folder, its parent and the shipped folder",
          "[sim][cases][anomaly]") {
  const CaseFolder home, other;
  other.write("secret.toml", "x = 'secret'\n");
  home.write("secret.toml", "x = 'secret'\n");
  const auto refusal = [&](const std::string& base) {
    const auto file = home.write("top/runs/run.toml", "# a run\nbase = \"" + base + "\"\n");
    return message_of([&] { Layers::read(file, {}, {}); });
  };
  CHECK_THAT(refusal("../../secret.toml"),
             Contains("run.toml:2:8: base = \"../../secret.toml\": this leads outside") && Contains("^"));
  CHECK_THAT(refusal((other / "secret.toml").string()), Contains("this path is absolute"));
  CHECK_THAT(refusal((home / "top/runs/run.toml").string()), Contains("this path is absolute"));
  CHECK_THAT(refusal("../x/../../secret.toml"), Contains("no such file") || Contains("leads outside"));
  std::filesystem::create_symlink(other / "secret.toml", home / "top/runs/link.toml");
  CHECK_THAT(refusal("link.toml"), Contains("leads outside"));
  std::filesystem::create_directory_symlink(other / "", home / "top/folder");
  CHECK_THAT(refusal("../folder/secret.toml"), Contains("leads outside"));
  // A base of a base is bound by the folder of the case, not by its own.
  home.write("top/bikes/mule.toml", "base = '../../secret.toml'\n");
  CHECK_THAT(refusal("../bikes/mule.toml"), Contains("mule.toml:1:8") && Contains("leads outside"));
}

TEST_CASE("layers: a shipped case cannot be used to leave the shipped folder", "[sim][cases][anomaly]") {
  const CaseFolder home, shipped;
  shipped.write("secret.toml", "x = 1\n");
  shipped.write("cases/ok.toml", "x = 1\n");
  const auto file = home.write("runs/run.toml", "base = '../secret.toml'\n");
  CHECK_THAT(message_of([&] { Layers::read(file, {}, shipped / "cases"); }), Contains("leads outside"));
}

TEST_CASE("layers: a case in a folder at the root of the file system has no parent to share",
          "[sim][cases][anomaly]") {
  // The temporary folder commonly is such a folder; elsewhere the base does not exist, and is refused as
  // well.
  std::string name = "/tmp/glassbowl_root_case_XXXXXX.toml";
  const int file = mkstemps(name.data(), 5);
  if (file < 0) {
    WARN("/tmp cannot be written to; the check was made on the message for a missing file only");
    name = "/tmp/none.toml";
  } else {
    REQUIRE(write(file, "base = '../etc/passwd'\n", 23) == 23);
    close(file);
  }
  const std::string message = message_of([&] { Layers::read(name, {}, {}); });
  std::filesystem::remove(name);
  CHECK_THAT(message, Contains("leads outside") || Contains("no such file"));
  CHECK(message.find("root:") == std::string::npos);
}

TEST_CASE("layers: circles, long chains and crowds of bases are refused", "[sim][cases][anomaly]") {
  const CaseFolder home;
  home.write("a.toml", "base = 'b.toml'\n");
  home.write("b.toml", "base = './a.toml'\n");
  home.write("self.toml", "base = 'self.toml'\n");
  CHECK_THAT(message_of([&] { Layers::read(home / "a.toml", {}, {}); }),
             Contains("b.toml:1:8: base = \"./a.toml\": this file builds on itself"));
  CHECK_THAT(message_of([&] { Layers::read(home / "self.toml", {}, {}); }), Contains("builds on itself"));
  for (int i = 0; i < 18; ++i) {
    home.write(fmt::format("chain_{}.toml", i),
               i == 17 ? "" : fmt::format("base = 'chain_{}.toml'\n", i + 1));
  }
  CHECK(Layers::read(home / "chain_1.toml", {}, {}).files().size() == 17);
  CHECK_THAT(message_of([&] { Layers::read(home / "chain_0.toml", {}, {}); }), Contains("more than 16 deep"));
  std::string crowd = "base = [";
  for (int i = 0; i < 64; ++i) {
    home.write(fmt::format("crowd_{}.toml", i), "");
    crowd += fmt::format("'crowd_{}.toml', ", i);
  }
  home.write("crowd.toml", crowd + "]\n");
  CHECK_THAT(message_of([&] { Layers::read(home / "crowd.toml", {}, {}); }), Contains("at most 64 files"));
}

TEST_CASE("layers: what is no base is refused where it stands", "[sim][cases][anomaly]") {
  const CaseFolder home;
  const auto refusal = [&](const std::string& text) {
    const auto file = home.write("run.toml", text);
    return message_of([&] { Layers::read(file, {}, {}); });
  };
  CHECK_THAT(refusal("base = 3\n"), Contains("run.toml:1:8: base is not a path"));
  CHECK_THAT(refusal("base = ['a.toml', 3]\n"), Contains(":1:") && Contains("base is not a path"));
  CHECK_THAT(refusal("base = ''\n"), Contains("this is no path"));
  CHECK_THAT(refusal("base = \"a\\u0000b\"\n"), Contains("this is no path"));
  CHECK_THAT(refusal("\nbase = 'none.toml'\n"),
             Contains("run.toml:2:8: base = \"none.toml\": there is no such file"));
  std::filesystem::create_directory(home / "folder");
  CHECK_THAT(refusal("base = 'folder'\n"), Contains("this is a folder"));
  home.write("notes.txt", "hidden = 'words'\n");
  CHECK_THAT(refusal("base = 'notes.txt'\n"), Contains("no case by its name") && !Contains("words"));
}

TEST_CASE("layers: missing, overlarge and broken files are refused", "[sim][cases][anomaly]") {
  const CaseFolder home;
  const auto missing = error_of([&] { Layers::read(home / "none.toml", {}, {}); });
  REQUIRE(missing);
  CHECK(missing->kind() == ErrorKind::case_file);
  CHECK_THAT(missing->what(), Contains("none.toml: there is no such file"));
  CHECK_THAT(message_of([&] { Layers::read(home / "", {}, {}); }), Contains("this is a folder"));
  CHECK_THAT(message_of([] { Layers::read("/dev/zero", {}, {}); }), Contains("this is a device"));

  const std::string line = "# filler\n";
  std::string text;
  while (text.size() + line.size() <= limits::file_bytes) text += line;
  text += std::string(limits::file_bytes - text.size(), '\n');
  CHECK(Layers::read(home.write("large.toml", text), {}, {}).files().size() == 1);
  CHECK_THAT(message_of([&] { Layers::read(home.write("large.toml", text + "\n"), {}, {}); }),
             Contains("larger than 1024 KiB"));
  CHECK_THAT(message_of([&] { Layers::parse(text + "\n", "memory", {}, {}); }),
             Contains("larger than 1024 KiB"));

  const auto broken =
      error_of([&] { Layers::read(home.write("broken.toml", "[jet]\nbore = 1 mm\n"), {}, {}); });
  REQUIRE(broken);
  CHECK(broken->kind() == ErrorKind::case_file);
  CHECK_THAT(broken->what(), Contains("broken.toml:2:") && Contains("this is not TOML") &&
                                 Contains("  bore = 1 mm\n") && Contains("^"));
  CHECK_THAT(message_of([] { Layers::parse("a = 1\na = 2\n", "twice", {}, {}); }), Contains("twice:2:"));
  CHECK_THAT(message_of([] { Layers::parse("a = \"\xff\"\n", "bytes", {}, {}); }),
             Contains("this is not TOML"));
}

TEST_CASE("layers: nesting that would exhaust the stack is refused", "[sim][cases][anomaly]") {
  std::string dotted = "a";
  for (int i = 0; i < 100000; ++i) dotted += ".a";
  const std::string brackets(100000, '[');
  for (const std::string& text : {dotted + " = 1\n", "[" + dotted + "]\n", "a = " + brackets,
                                  "a = {" + dotted + " = 1}\n", "a.'b'.\"c\" . " + dotted + " = 1\n"}) {
    CHECK_THAT(message_of([&] { Layers::parse(text, "deep", {}, {}); }),
               Contains("nested more than 16 deep"));
  }
  // Dots and brackets in text and comments are not nesting.
  const std::string sound = "a = \"" + std::string(50, '.') + std::string(50, '[') + "\\\"" +
                            std::string(50, '[') + "\" # " + std::string(50, '[') + "\nb = '''\n" +
                            std::string(50, '[') + "'''\nc = [0.5, 1.5]\n";
  CHECK(Layers::parse(sound, "sound", {}, {}).files().size() == 1);
}

TEST_CASE("layers: the ending of a base may be left out", "[sim][cases]") {
  const CaseFolder home, shipped;
  home.write("mule.toml", "x = 1\n");
  home.write("pony.d.toml", "x = 2\n");
  shipped.write("bikes/goat.toml", "x = 3\n");
  std::filesystem::create_directory(home / "mule");  // a folder of that name is no base
  const auto file = home.write("run.toml", "base = ['mule', 'pony.d', 'bikes/goat']\n");
  const auto files = Layers::read(file, {}, shipped / "").files();
  REQUIRE(files.size() == 4);
  CHECK_THAT(files[1], Contains("goat.toml"));
  CHECK_THAT(files[3], Contains("mule.toml"));
}

TEST_CASE("layers: nothing is shown of a file that is no case", "[sim][cases][anomaly]") {
  const CaseFolder home;
  home.write("../.keys/id", "TOPSECRET line\n");
  home.write("../.keys/id.toml", "TOPSECRET line\n");
  home.write("id", "TOPSECRET line\n");
  std::filesystem::create_symlink(home / "id", home / "link.toml");
  for (const char* base : {"../.keys/id", "../.keys/id.toml", "id", "link.toml", "link"}) {
    const auto file = home.write("run.toml", std::string("base = \"") + base + "\"\n");
    const std::string message = message_of([&] { Layers::read(file, {}, {}); });
    CAPTURE(base, message);
    CHECK_THAT(message, Contains("no case") && !Contains("TOPSECRET"));
  }
  CHECK_THAT(message_of([&] { Layers::read(home / "id", {}, {}); }),
             Contains("this is no case: it is not TOML") && !Contains("TOPSECRET"));
}

TEST_CASE("layers: the files of a case are bounded in all", "[sim][cases][anomaly]") {
  const CaseFolder home;
  const std::string large(limits::file_bytes - 10, '\n');
  std::string bases;
  for (int i = 0; i < 3; ++i) {
    home.write(fmt::format("large_{}.toml", i), large);
    bases += fmt::format("'large_{}', ", i);
  }
  CHECK_THAT(message_of([&] { Layers::read(home.write("run.toml", "base = [" + bases + "]\n"), {}, {}); }),
             Contains("larger than 2048 KiB in all"));
}
