#include "sim/cases/excerpt.hpp"

#include "sim/api/terminal_text.hpp"
#include "sim/cases/layer.hpp"

#include <catch2/catch.hpp>

using namespace glassbowl::sim;

TEST_CASE("excerpt: text is clipped by characters and stripped of control characters", "[sim][cases]") {
  CHECK(clipped("bore", 10) == "bore");
  CHECK(clipped("0123456789", 10) == "0123456789");
  CHECK(clipped("0123456789a", 10) == "0123456...");
  CHECK(clipped("\u00fc\u00fc\u00fc\u00fc\u00fc", 5) == "\u00fc\u00fc\u00fc\u00fc\u00fc");
  CHECK(clipped("a\x1b[2Jb\nc\x7f", 20) == "a [2Jb c ");
  CHECK(clipped("a\xc2\x9b"
                "b",
                20) == "a b");                       // C1 control sequence introducer
  CHECK(clipped("a\u202eb\u200bc", 20) == "a b c");  // marks that reverse or hide text
  CHECK(clipped("a\xff\xc3", 20) == "a  ");          // broken UTF-8
}

TEST_CASE("excerpt: lines and parts are found by line and column", "[sim][cases]") {
  const std::string text = "a = 1\r\n\u00fc = \"x y\"\nlast";
  CHECK(line_of(text, 1) == "a = 1");
  CHECK(line_of(text, 3) == "last");
  CHECK(line_of(text, 4).empty());
  CHECK(part_of(text, 2, 5, 2, 10) == "\"x y\"");
  CHECK(part_of(text, 2, 5, 3, 2) == "\"x y\"");
  CHECK(part_of(text, 9, 5, 9, 7).empty());
}

TEST_CASE("excerpt: text for a terminal keeps its lines and loses all that steers", "[sim][cases][anomaly]") {
  CHECK(terminal_text("a\tb\nc \u00fc \u03bb") == "a\tb\nc \u00fc \u03bb");
  for (const char* steering : {"\x1b",   "\r",     "\x07",   "\x7f",   "\u0080",     "\u009b", "\u009f",
                               "\u061c", "\u180e", "\u200b", "\u200f", "\u2028",     "\u202a", "\u202e",
                               "\u2066", "\u2069", "\ufeff", "\ufff9", "\U000e0041", "\xff",   "\xc2"}) {
    CAPTURE(steering);
    CHECK(terminal_text(std::string("a") + steering + "b") == "a b");
    CHECK(clipped(std::string("a") + steering + "b", 80) == "a b");
  }
}

TEST_CASE("excerpt: a value is written so that it steers nothing and reads back the same",
          "[sim][cases][symmetry]") {
  const std::string text = "a\u009b31m \u202e \x1b[2J \U000e0041 \"\\ \u00fc\n";
  toml::table table;
  table.insert("value", text);
  const std::string written = write_value(*table.get("value"));
  CHECK(terminal_text(written) == written);
  CHECK_THAT(written,
             Catch::Contains("\\u009B") && Catch::Contains("\\u202E") && Catch::Contains("\\U000E0041"));
  CHECK(parse_value(written).get("value")->as_string()->get() == text);
}

TEST_CASE("excerpt: the caret stands under its column, also in long lines", "[sim][cases]") {
  CHECK(caret("bore = 1", 1, 8) == "  bore = 1\n         ^");
  CHECK(caret("\tbore = 1", 1, 2) == "   bore = 1\n   ^");
  CHECK(caret("x", 7, 1).empty());
  const std::string line = std::string(300, 'a') + "X" + std::string(300, 'b');
  const std::string shown = caret(line, 1, 301);
  const std::size_t split = shown.find('\n');
  REQUIRE(split < 120);
  CHECK(shown.find('X') == shown.find('^') - split - 1);
}
