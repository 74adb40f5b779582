#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <regex>
#include <sstream>

#include "sim/api/error.hpp"
#include "sim/api/print_pdf.hpp"
#include "sim/report/chart.hpp"
#include "sim/report/tuning_sheet.hpp"
#include "tests/sim/cases/case_folder.hpp"

namespace glassbowl::sim {
namespace {

std::string text_of(const std::filesystem::path& file) {
  std::ostringstream out;
  out << std::ifstream(file, std::ios::binary).rdbuf();
  return out.str();
}

std::size_t count(const std::string& text, const std::string& part) {
  std::size_t found = 0;
  for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++found;
  return found;
}

std::vector<Chart> samples() {
  Chart lines;
  lines.name = "lines";
  lines.title = "Lambda & torque <test>";
  lines.x_label = "throttle opening [%]";
  lines.y_label = "lambda";
  lines.caption = "two lines";
  lines.lines = {{"first", {{0, 0.8}, {50, NAN}, {100, 0.9}}, true},
                 {"second", {{0, 1.0}, {100, 1.1}}, false}};
  lines.square_root_x = true;
  Chart stacked = lines;
  stacked.name = "stacked";
  stacked.kind = ChartKind::stacked;
  stacked.lines = {{"idle", {{0, 90}, {100, 0}}, true}, {"main", {{0, 10}, {100, 100}}, true}};
  Chart cells = lines;
  cells.square_root_x = false;
  cells.name = "cells";
  cells.kind = ChartKind::cells;
  cells.lines.clear();
  cells.cells.columns = {"0", "50", "100"};
  cells.cells.rows = {"1000", "2000"};
  cells.cells.values = {0.8, 0.9, NAN, 1.0, 1.1, 2.0};
  cells.cells.low = 0.7;
  cells.cells.middle = 0.9;
  cells.cells.high = 1.2;
  cells.cells.meaning = "in-cylinder lambda";
  Chart share = cells;
  share.name = "share";
  share.cells.scale = ColourScale::share;
  return {lines, stacked, cells, share};
}

TuningSheet sample_sheet() {
  TuningSheet sheet;
  sheet.bike = "mule <750>";
  sheet.conditions = "Computed for 0 m.";
  sheet.caution = "CAUTION: lean running seizes engines.";
  sheet.leaner = true;
  sheet.answer = "First line.\nSecond line.";
  sheet.settings = {{"main jet", "1.675 mm", "1.65 mm", "LEANER"}, {"slow jet", "0.525 mm", "0.525 mm", ""}};
  sheet.charts = samples();
  sheet.made_by = "glassbowl";
  return sheet;
}

}  // namespace

TEST_CASE("charts: every kind gives a sound SVG and PNG that hold their words", "[sim][studies]") {
  const CaseFolder folder;
  for (const auto& chart : samples()) {
    const auto paths = write_chart(chart, folder / "a study", false);
    REQUIRE(paths.size() == 2);
    INFO(chart.name);
    const std::string svg = text_of(paths[0]), png = text_of(paths[1]);
    CHECK(png.starts_with("\x89PNG\r\n\x1a\n"));
    CHECK(png.size() > 5000);
    CHECK_THAT(svg, Catch::Contains("throttle opening [%]") && Catch::Contains("lambda"));
    const std::string parse =
        "/usr/bin/python3 -c 'import sys, xml.dom.minidom as m; m.parse(sys.argv[1])' '" + paths[0].string() +
        "'";
    CHECK(std::system(parse.c_str()) == 0);
    if (chart.kind == ChartKind::cells)
      CHECK_THAT(svg, Catch::Contains("1.10") && Catch::Contains("in-cylinder lambda") &&
                          Catch::Contains("not computed"));
  }
}

TEST_CASE("charts: each mark of a point is drawn with its sign and explained, in every kind",
          "[sim][studies]") {
  for (const auto& plain : samples())
    for (const auto mark :
         {PointMark::beyond_limit, PointMark::not_judged, PointMark::misfires, PointMark::not_converged}) {
      Chart chart = plain;
      chart.marks = {{mark, 1.0, chart.kind == ChartKind::stacked ? 104.0 : 1.0}};
      INFO(chart.name << " " << sign_of(mark));
      const std::string sign = std::string("<text>") + sign_of(mark);
      const std::string marked = inline_svg(chart), without = inline_svg(plain);
      CHECK(count(marked, sign) >= count(without, sign) + 2);  // at the point and in the key
      CHECK_THAT(marked, Catch::Contains(meaning_of(mark)));
      CHECK_THAT(without, !Catch::Contains(meaning_of(mark)));
    }
  Chart both = samples()[2];
  both.marks = {{PointMark::misfires, 1.0, 1.0}, {PointMark::beyond_limit, 1.0, 1.0}};
  CHECK(count(inline_svg(both), "<text>!x</text>") > 0);  // none hides the other
}

TEST_CASE("charts: each entry of the key below cells has a line of its own", "[sim][studies]") {
  Chart chart = samples()[2];
  const std::vector<PointMark> marks{PointMark::beyond_limit, PointMark::not_judged, PointMark::misfires,
                                     PointMark::not_converged};
  std::vector<std::string> entries{"not computed"};
  for (const PointMark mark : marks) {
    chart.marks.push_back({mark, 1.0, 1.0});
    entries.push_back(meaning_of(mark));
  }
  const std::string svg = inline_svg(chart);
  const std::regex text("translate\\(([0-9.]+),([0-9.]+)\\)[^>]*>\\s*<text[^>]*>([^<]*)");
  std::vector<double> heights;
  for (std::sregex_iterator i(svg.begin(), svg.end(), text), end; i != end; ++i)
    if (std::any_of(entries.begin(), entries.end(),
                    [&](const std::string& entry) { return (*i)[3].str().ends_with(entry); }))
      heights.push_back(std::stod((*i)[2]));
  REQUIRE(heights.size() == entries.size());
  std::sort(heights.begin(), heights.end());
  for (std::size_t i = 1; i < heights.size(); ++i)
    CHECK(heights[i] - heights[i - 1] >= 17);  // a font of 14 px
}

TEST_CASE("charts: a sign in a wide cell is bold and not doubled", "[sim][studies]") {
  Chart chart = samples()[2];  // three columns
  chart.marks = {{PointMark::misfires, 1.0, 1.0}};
  const std::string svg = inline_svg(chart);
  const std::regex sign("translate\\(([0-9.]+),[0-9.]+\\)[^>]*>\\s*<text[^>]*>x<");
  std::vector<double> places;
  for (std::sregex_iterator i(svg.begin(), svg.end(), sign), end; i != end; ++i)
    places.push_back(std::stod((*i)[1]));
  REQUIRE(places.size() == 2);
  CHECK(std::abs(places[1] - places[0]) < 1.5);  // px, less than a stroke and the gap beside it
  CHECK(std::abs(places[1] - places[0]) > 0.3);
}

TEST_CASE("charts: a point beyond the lean limit is framed in black, and no other is", "[sim][studies]") {
  for (const std::size_t kind : {0, 2, 3}) {
    Chart chart = samples()[kind];
    const auto frames = [&](PointMark mark) {
      chart.marks = {{mark, 1.0, 1.0}};
      const std::string svg = inline_svg(chart);
      return count(svg, kind == 0 ? "xlink:href='#id_lines_gpPt3'" : "stroke-width=\"2.50\"");
    };
    INFO(chart.name);
    CHECK(frames(PointMark::beyond_limit) > frames(PointMark::misfires));
    CHECK(frames(PointMark::not_judged) == frames(PointMark::misfires));
  }
}

TEST_CASE("charts: cells have a scale of their colours, and a share never has those of rich and lean",
          "[sim][studies]") {
  struct Colour {
    int red, green, blue;
  };
  const auto cells_of = [](const Chart& chart) {
    const std::string svg = inline_svg(chart);
    const std::regex filled("<polygon fill = 'rgb\\( *([0-9]+), *([0-9]+), *([0-9]+)\\)");
    std::vector<Colour> found;
    for (std::sregex_iterator i(svg.begin(), svg.end(), filled), end; i != end; ++i)
      found.push_back({std::stoi((*i)[1]), std::stoi((*i)[2]), std::stoi((*i)[3])});
    return found;
  };
  const auto blue = [](const Colour& c) { return c.blue > c.green && c.green > c.red; };
  const auto orange = [](const Colour& c) { return c.red > c.green && c.green > c.blue; };
  const auto grey = [](const Colour& c) { return 0.299 * c.red + 0.587 * c.green + 0.114 * c.blue; };
  Chart mixture = samples()[2], share = samples()[3];
  mixture.cells.values = share.cells.values = {0.7, 0.75, 0.9, 0.95, 1.1, 1.2};
  const auto in_mixture = cells_of(mixture), in_share = cells_of(share);
  REQUIRE(in_mixture.size() >= 6);
  REQUIRE(in_share.size() >= 6);
  CHECK(std::any_of(in_mixture.begin(), in_mixture.end(), blue));
  CHECK(std::any_of(in_mixture.begin(), in_mixture.end(), orange));
  CHECK(std::none_of(in_share.begin(), in_share.end(), blue));
  CHECK(std::none_of(in_share.begin(), in_share.end(), orange));
  // On a grey printer the leanest cell is darker than the richest by a quarter of the range.
  CHECK(grey(in_mixture[0]) - grey(in_mixture[5]) > 64.0);
  // The ends of the scale are written beside it.
  CHECK_THAT(inline_svg(mixture),
             Catch::Contains("<text> 1.2</text>") && Catch::Contains("<text> 0.7</text>"));
}

TEST_CASE("charts: words from a case are never run as commands", "[sim][studies]") {
  const CaseFolder folder;
  const std::string mark = (folder / "mark").string();
  Chart chart = samples().front();
  chart.title = "`touch " + mark + "`'; system('touch " + mark + "') #\nset output";
  chart.lines[0].label = "\"`touch " + mark + "`\"";
  CHECK(write_chart(chart, folder / "study", false).size() == 2);
  CHECK_FALSE(std::filesystem::exists(mark));
  CHECK(write_chart(chart, folder / "it's", false).size() == 2);
  CHECK_THROWS_AS(write_chart(chart, folder / "nowhere" / "study", false), Error);
}

TEST_CASE("charts: no name is run as a command or followed", "[sim][studies]") {
  const CaseFolder folder;
  const std::string mark = (folder / "mark").string();
  const auto before = std::filesystem::current_path();
  std::filesystem::current_path(folder / "");
  for (const std::string base :
       {"|touch mark;", "<touch mark;", "-p", "$(touch mark)", "a'b\"c`d", "a\nb", "'"})
    for (const auto& path : write_chart(samples().front(), base, false)) {
      CAPTURE(path);
      CHECK(std::filesystem::file_size(path) > 1000);
    }
  std::filesystem::current_path(before);
  CHECK_FALSE(std::filesystem::exists(mark));
}

TEST_CASE("charts: what is there is kept unless it may be replaced", "[sim][studies]") {
  const CaseFolder folder;
  const Chart chart = samples().front();
  const auto paths = write_chart(chart, folder / "study", false);
  CHECK_THROWS_WITH(write_chart(chart, folder / "study", false), Catch::Contains("is there already"));
  CHECK(write_chart(chart, folder / "study", true) == paths);
  std::filesystem::remove(paths[0]);
  std::filesystem::create_symlink(folder / "elsewhere.svg", paths[0]);
  CHECK_THROWS_WITH(write_chart(chart, folder / "study", true), Catch::Contains("is a link"));
  CHECK_FALSE(std::filesystem::exists(folder / "elsewhere.svg"));
}

TEST_CASE("charts: a chart without a value says so", "[sim][studies]") {
  const CaseFolder folder;
  for (Chart chart : samples()) {
    for (auto& line : chart.lines)
      for (auto& point : line.points) point.second = NAN;
    for (auto& value : chart.cells.values) value = NAN;
    INFO(chart.name);
    const auto paths = write_chart(chart, folder / "empty", false);
    CHECK_THAT(text_of(paths[0]),
               Catch::Contains("no value could be computed") && Catch::Contains("throttle opening [%]"));
    chart.lines.clear();
    chart.cells = {};
    CHECK_THAT(inline_svg(chart), Catch::Contains("no value could be computed"));
  }
}

TEST_CASE("charts: a cell without fuel says so, and is not called one that was not computed",
          "[sim][studies]") {
  Chart chart = samples()[2];
  chart.cells.values = {0.8, 0.9, INFINITY, 1.0, 1.1, 1.2};
  const std::string some = inline_svg(chart);
  CHECK(count(some, ">no fuel<") == 1);
  CHECK_THAT(some, !Catch::Contains("not computed") && !Catch::Contains(">inf<"));
  for (auto& value : chart.cells.values) value = INFINITY;
  CHECK(count(inline_svg(chart), ">no fuel<") == 6);
}

TEST_CASE("charts: what the program that draws says is passed on", "[sim][studies]") {
  const CaseFolder folder;
  std::ofstream(folder / "gnuplot") << "#!/bin/sh\necho 'terminal gone' >&2\nexit 3\n";
  std::filesystem::permissions(folder / "gnuplot", std::filesystem::perms::owner_all);
  const std::string path = std::getenv("PATH");
  setenv("PATH", ((folder / "").string() + ":" + path).c_str(), 1);
  CHECK_THROWS_WITH(write_chart(samples().front(), folder / "study", false),
                    Catch::Contains("terminal gone") && !Catch::Contains("disk"));
  setenv("PATH", path.c_str(), 1);
  CHECK_FALSE(std::filesystem::exists(folder / "study-" / ""));
}

TEST_CASE("tuning sheet: the caution comes first, nothing is fetched, nothing runs", "[sim][studies]") {
  const std::string page = tuning_sheet_html(sample_sheet());
  CHECK(page.find("goes LEANER") < page.find("<h2>Settings"));
  CHECK_THAT(page, Catch::Contains("mule &lt;750&gt;") && Catch::Contains("1.65 mm") &&
                       Catch::Contains("@page { size: A4"));
  for (const auto* foreign :
       {"<script", "src=\"http", "@import", "url(http", "<iframe", "<link rel=\"stylesheet"})
    CHECK(page.find(foreign) == std::string::npos);
}

TEST_CASE("charts: without the program that draws them, the error names its package", "[sim][studies]") {
  const std::string path = std::getenv("PATH");
  setenv("PATH", "/nonexistent", 1);
  CHECK_THROWS_WITH(tuning_sheet_html(sample_sheet()), Catch::Contains("gnuplot-nox"));
  setenv("PATH", path.c_str(), 1);
}

TEST_CASE("tuning sheet: a browser opens it without a complaint, on a desk and on a phone",
          "[sim][studies][browser]") {
  const CaseFolder folder;
  const auto page = folder.write("sheet.html", tuning_sheet_html(sample_sheet()));
  for (const auto* width : {"1200", "500"}) {
    const auto picture = folder / (std::string("picture") + width + ".png"), log = folder / "log";
    const std::string command =
        "HOME='" + (folder / "").string() +
        "' timeout 100 chromium --headless --no-sandbox --disable-gpu --disable-dev-shm-usage "
        "--enable-logging=stderr --v=0 --hide-scrollbars --window-size=" +
        std::string(width) + ",1600 --screenshot='" + picture.string() + "' 'file://" + page.string() +
        "' > '" + log.string() + "' 2>&1";
    const int code = std::system(command.c_str());
    const std::string said = text_of(log);
    INFO(said);
    REQUIRE(code == 0);
    CHECK(said.find("CONSOLE") == std::string::npos);
    CHECK(text_of(picture).starts_with("\x89PNG"));
    CHECK(std::filesystem::file_size(picture) > 20000);
  }
}

TEST_CASE("tuning sheet: it prints to a PDF of its own", "[sim][studies][browser]") {
  const CaseFolder folder;
  const std::string page = tuning_sheet_html(sample_sheet());
  const auto pdf = folder / "a sheet.pdf";
  print_pdf(page, pdf, false);
  const std::string text = text_of(pdf);
  CHECK(text.starts_with("%PDF"));
  CHECK(text.size() > 20000);
  CHECK_THROWS_WITH(print_pdf(page, folder / "nowhere" / "a.pdf", false), Catch::Contains("create it first"));
}

}  // namespace glassbowl::sim
