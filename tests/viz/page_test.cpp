#include "viz/page/page.hpp"

#include <SFML/Graphics/Image.hpp>
#include <algorithm>
#include <catch2/catch.hpp>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>

#include "sim/api/error.hpp"
#include "sim/api/trace.hpp"
#include "tests/viz/pixels.hpp"
#include "tests/viz/run_files.hpp"
#include "viz/look/palette.hpp"
#include "viz/source/trace_source.hpp"

namespace glassbowl::viz {
namespace {

namespace fs = std::filesystem;

std::string text_of(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

int call(const std::string& words) {
  return std::system((words + " > /dev/null 2>&1").c_str());
}

const fs::path& exported() {
  static const fs::path file = [] {
    const fs::path target = RunFiles::folder() / "page.html";
    call(std::string("env -u DISPLAY ") + GLASSBOWL_VIEW + " " + RunFiles::fixed_venturi().string() +
         " --export " + target.string());
    return target;
  }();
  return file;
}

nlohmann::json data_of(const std::string& page) {
  const std::string open = "id=\"data\">";
  const auto from = page.find(open) + open.size();
  return nlohmann::json::parse(page.substr(from, page.find("</script>", from) - from));
}

std::vector<double> unpacked(const nlohmann::json& channel) {
  const auto text = channel["data"].get<std::string>();
  std::vector<unsigned> bytes;
  unsigned value = 0;
  int bits = 0;
  for (const char c : text) {
    if (c == '=') break;
    static const std::string letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    value = (value << 6U) | static_cast<unsigned>(letters.find(c));
    bits += 6;
    if (bits < 8) continue;
    bits -= 8;
    bytes.push_back((value >> static_cast<unsigned>(bits)) & 255U);
  }
  const double low = channel["low"], high = channel["high"];
  std::vector<double> out;
  for (std::size_t i = 0; i + 1 < bytes.size(); i += 2)
    out.push_back(low + (high - low) * (bytes[i] + 256 * bytes[i + 1]) / 65534.0);
  return out;
}

}  // namespace

TEST_CASE("page: it is one file below 8 MB that asks no network, written without a display", "[viz][page]") {
  REQUIRE(fs::exists(exported()));
  CHECK(fs::file_size(exported()) < 8000000);
  const std::string page = text_of(exported());
  for (const char* outside : {"http://", "https://", "src=\"", "<link", "@import", "fetch(", "XMLHttp"})
    CHECK(page.find(outside) == std::string::npos);
  for (const char* caution : {"workshop manual", "local rules", "seize"})
    CHECK(page.find(caution) != std::string::npos);
}

TEST_CASE("page: its numbers are those of the trace", "[viz][page]") {
  const auto data = data_of(text_of(exported()));
  const sim::TraceReader trace(RunFiles::fixed_venturi());
  const auto times = trace.read("time");
  const auto kept = unpacked(data["channels"]["time"]);
  REQUIRE(kept.size() > 1000);
  for (const char* name :
       {"main_fuel_flow", "manifold_pressure", "crank_angle", "cylinder_1_trapped_lambda"}) {
    const auto all = trace.read(name), some = unpacked(data["channels"][name]);
    REQUIRE(some.size() == kept.size());
    const double span = *std::max_element(all.begin(), all.end()) - *std::min_element(all.begin(), all.end());
    for (std::size_t i = 0; i < kept.size(); i += 97) {
      const auto row = static_cast<std::size_t>(std::lower_bound(times.begin(), times.end(), kept[i] - 1e-5) -
                                                times.begin());
      CAPTURE(name, i);
      CHECK(std::abs(some[i] - all[row]) <= 2e-4 * span + 1e-12);
    }
  }
  CHECK(data["cycles"].size() == trace.read("cycle_start").size());
  CHECK(data["parts"]["main_jet"]["size"].get<std::string>().find("1.67 mm") != std::string::npos);
  CHECK_FALSE(data["parts"].contains("vacuum_piston"));
}

TEST_CASE("page: a browser draws it, 390 and 1280 pixels wide", "[viz][page]") {
  REQUIRE(call("command -v chromium") == 0);
  for (const int width : {390, 1280}) {
    const fs::path frame = RunFiles::folder() / "frame.html", shot = RunFiles::folder() / "page.png";
    std::ofstream(frame) << "<body style='margin:0;background:#f0f'><iframe style='border:0' width=" << width
                         << " height=1500 src='page.html'></iframe></body>";
    fs::remove(shot);
    call(
        "timeout 60 chromium --headless --no-sandbox --disable-gpu --hide-scrollbars "
        "--virtual-time-budget=3000 --window-size=1280,1500 --screenshot=" +
        shot.string() + " file://" + frame.string());
    sf::Image image;
    REQUIRE(image.loadFromFile(shot.string()));
    int bowl = 0, text = 0, main = 0;
    for (unsigned y = 0; y < 1400; y += 2)
      for (unsigned x = 0; x < static_cast<unsigned>(width); x += 2) {
        const sf::Color c = image.getPixel(x, y);
        bowl += distance(c, color_of(Hue::fuel, dark_theme())) < 12 ? 1 : 0;
        main += distance(c, color_of(Hue::main, dark_theme())) < 12 ? 1 : 0;
        text += distance(c, dark_theme().text) < 40 ? 1 : 0;
      }
    CAPTURE(width, bowl, main, text);
    CHECK(bowl > 300);
    CHECK(main > 50);
    CHECK(text > 100);
    // Nothing is wider than the screen: the last column is the page's ground.
    if (width == 390) CHECK(distance(image.getPixel(388, 30), dark_theme().background) < 20);
  }
}

TEST_CASE("page: none is written over another file", "[viz][page][anomaly]") {
  TraceSource source(RunFiles::idle());
  const Signals signals(source);
  PagePlan plan;
  plan.target = RunFiles::folder() / "mine.html";
  std::ofstream(plan.target) << "mine";
  CHECK_THROWS_WITH(write_page(source, signals, plan), Catch::Contains("already"));
  CHECK(text_of(plan.target) == "mine");
  plan.replace = true;
  write_page(source, signals, plan);
  CHECK(fs::file_size(plan.target) > 10000);
  plan.target = RunFiles::folder() / "no_folder" / "a.html";
  CHECK_THROWS_AS(write_page(source, signals, plan), sim::Error);
}

TEST_CASE(
    "handout: a sheet for each jet, blanks in the questions, and the runs' own answers on the last page",
    "[viz][page][lessons]") {
  const fs::path file = RunFiles::folder() / "handout.html";
  REQUIRE(call(std::string(GLASSBOWL_VIEW) + " --lesson pump_shot_and_blip_lag --sheets 3 --handout " +
               file.string()) == 0);
  const std::string page = text_of(file);
  const auto answers = page.find("class=\"answers\"");
  REQUIRE(answers != std::string::npos);
  const std::string before = page.substr(0, answers), after = page.substr(answers);
  const auto count = [](const std::string& text, const std::string& what) {
    int found = 0;
    for (auto at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) ++found;
    return found;
  };
  CHECK(count(before, "<img") == 4);
  CHECK(count(before, "class=\"sheet\"") == 3);
  CHECK(count(before, "class=\"blank\"") > 9);
  CHECK(before.find("ms after the hand moved") == std::string::npos);  // no answer among the questions
  CHECK(count(after, "ms after the hand moved") == 3);
  for (const char* jet : {"1.67 mm", "1.62 mm", "1.57 mm"}) CHECK(count(after, jet) == 1);
  CHECK(before.find("workshop manual") != std::string::npos);
  CHECK(call(std::string(GLASSBOWL_VIEW) + " --lesson idle_circuit --handout x.docx") != 0);
  CHECK(call(std::string(GLASSBOWL_VIEW) + " --handout x.html") != 0);
}

}  // namespace glassbowl::viz
