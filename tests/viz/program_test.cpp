#include <sys/wait.h>
#include <SFML/Graphics/Image.hpp>

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cstdio>
#include <fstream>
#include <sstream>
#include <string>

#include "tests/viz/pixels.hpp"
#include "tests/viz/run_files.hpp"
#include "viz/look/palette.hpp"

namespace glassbowl::viz {
namespace {

namespace fs = std::filesystem;

struct Result {
  int code;
  std::string text;
};

Result run(const std::string& before, const std::string& arguments) {
  FILE* pipe = popen((before + " " + GLASSBOWL_VIEW + " " + arguments + " 2>&1").c_str(), "r");
  Result result{-1, ""};
  std::array<char, 256> buffer;
  while (std::fgets(buffer.data(), static_cast<int>(buffer.size()), pipe) != nullptr)
    result.text += buffer.data();
  const int status = pclose(pipe);
  result.code = WIFEXITED(status) ? WEXITSTATUS(status) : 128;
  return result;
}

long lines(const std::string& text) {
  return std::count(text.begin(), text.end(), '\n');
}

}  // namespace

TEST_CASE("program: a missing font, display or trace gives one clear message", "[viz][program][anomaly]") {
  const std::string trace = RunFiles::fixed_venturi().string();
  const Result font = run("", trace + " --font /nonexistent.otf");
  CHECK(font.code == 1);
  CHECK(lines(font.text) == 1);
  CHECK(font.text.find("/nonexistent.otf") != std::string::npos);
  const Result display = run("env -u DISPLAY", trace);
  CHECK(display.code == 1);
  CHECK(lines(display.text) == 1);
  CHECK(display.text.find("DISPLAY") != std::string::npos);
  const Result wrong = run("env DISPLAY=:987", trace);
  CHECK(wrong.code == 1);
  CHECK(lines(wrong.text) == 1);
  CHECK(wrong.text.find(":987") != std::string::npos);
  const Result absent = run("", "absent.h5");
  CHECK(absent.code == 2);
  CHECK(lines(absent.text) == 1);
  const Result neither = run("", "--export never.png");
  CHECK(neither.code == 2);
}

TEST_CASE("program: pictures have the size asked for and show something", "[viz][program]") {
  const fs::path file = RunFiles::folder() / "view.png";
  for (const auto& [width, height] : {std::pair{1280U, 720U}, {1920U, 1080U}}) {
    const Result result =
        run("", RunFiles::vacuum_piston().string() + " --force --export " + file.string() +
                    " --at 0.3 --size " + std::to_string(width) + "x" + std::to_string(height));
    CAPTURE(result.text);
    REQUIRE(result.code == 0);
    sf::Image image;
    REQUIRE(image.loadFromFile(file.string()));
    CHECK(image.getSize() == sf::Vector2u(width, height));
    int fuel = 0;
    for (unsigned y = 0; y < height; y += 3)
      for (unsigned x = 0; x < width; x += 3)
        fuel += distance(image.getPixel(x, y), color_of(Hue::main, dark_theme())) < 90 ? 1 : 0;
    CHECK(fuel > 50);
  }
}

TEST_CASE("program: what contradicts itself or does not exist is refused with a remedy",
          "[viz][program][anomaly]") {
  const std::string trace = RunFiles::fixed_venturi().string();
  for (const auto& [arguments, word] :
       {std::pair<std::string, std::string>{trace + " --live blip", "not both"},
        {trace + " --view inside", "cutaway"},
        {trace + " --rate 5", "range"},
        {trace + " --nonsense", "--help"},
        {trace + " --set a=1", "--live"},
        {"--live blip --export never.png", "glassbowl run"},
        {trace + " --lesson nope", "idle_circuit"},
        {trace + " --lesson altitude --export never.png", "does not change"},
        {trace + " --export never.png --at 99", "--at 99: "},
        {trace + " --export never.mp4 --to 99", " s to "},
        {trace + " --export " + trace, "what is read from it"}}) {
    const Result result = run("", arguments);
    CAPTURE(arguments, result.text);
    CHECK(result.code == 2);
    CHECK(lines(result.text) == 1);
    CHECK(result.text.find(word) != std::string::npos);
  }
  CHECK_FALSE(fs::exists("never.png"));
}

TEST_CASE("program: controls are reached and pressed by keyboard alone", "[viz][program][keyboard]") {
  const fs::path file = RunFiles::folder() / "keys.png";
  const auto corner = [&](const std::string& keys) {
    const Result result =
        run("", RunFiles::fixed_venturi().string() + " --force --pictures 30 --screenshot " + file.string() +
                    " --press '" + keys + "'");
    CAPTURE(keys, result.text);
    REQUIRE(result.code == 0);
    sf::Image image;
    REQUIRE(image.loadFromFile(file.string()));
    return image.getPixel(4, 500);
  };
  CHECK(distance(corner("Space"), dark_theme().background) < 6);
  // The first arrow marks the first control; the ninth turns dark into light.
  CHECK(distance(corner("F6 Right Right Right Right Right Right Right Right Right Space"),
                 light_theme().background) < 6);
  const Result wrong =
      run("", RunFiles::fixed_venturi().string() + " --force --press Nonsense --pictures 1 " +
                  "--screenshot " + file.string());
  CHECK(wrong.code == 2);
  CHECK(wrong.text.find("Nonsense") != std::string::npos);
}

TEST_CASE("program: a picture replaces nothing unasked, follows no link and is no option of another program",
          "[viz][program][anomaly]") {
  const std::string trace = RunFiles::fixed_venturi().string() + " --size 320x180 ";
  const fs::path folder = RunFiles::folder() / "pictures", victim = folder / "victim";
  fs::remove_all(folder);
  fs::create_directory(folder);
  std::ofstream(victim) << "precious";
  const auto text_of = [](const fs::path& file) {
    std::ostringstream text;
    text << std::ifstream(file, std::ios::binary).rdbuf();
    return text.str();
  };
  const auto count = [&] { return std::distance(fs::directory_iterator(folder), fs::directory_iterator()); };
  const std::string there = "cd '" + folder.string() + "';";
  for (const std::string option : {"--export ", "--pictures 2 --screenshot "}) {
    CAPTURE(option);
    for (const std::string force : {"", "--force "})
      for (const char* place : {"victim", "nowhere"}) {
        fs::create_symlink(place, folder / "x.png");
        const Result link = run(there, trace + force + option + "x.png");
        CHECK(link.code == 2);
        CHECK(link.text.find("is a link") != std::string::npos);
        fs::remove(folder / "x.png");
      }
    fs::copy_file(victim, folder / "x.png");
    CHECK(run(there, trace + option + "x.png").code == 2);
    CHECK(text_of(folder / "x.png") == "precious");
    CHECK(run(there, trace + "--force " + option + "x.png").code == 0);
    CHECK(text_of(folder / "x.png").starts_with("\x89PNG"));
    fs::remove(folder / "x.png");
  }
  fs::create_symlink("victim", folder / "y.png.unfinished.png");
  CHECK(run(there, trace + "--export y.png").code == 0);
  CHECK(text_of(victim) == "precious");
  CHECK(count() == 3);
  CHECK(run(there, trace + "--export=-y.png").code == 0);
  CHECK(fs::exists(folder / "-y.png"));
  if (std::system("command -v ffmpeg > /dev/null") != 0) return;
  for (const char* name : {"-y.mp4", "-y.gif", "pipe:1.mp4", "a:b.gif"}) {
    CAPTURE(name);
    const Result result = run(there, trace + "--at 0.2 --to 0.202 --export='" + name + "'");
    CAPTURE(result.text);
    CHECK(result.code == 0);
    CHECK(fs::exists(folder / name));
  }
  CHECK(count() == 8);
  // A file that may not grow: no video, and nothing of that name.
  for (const char* name : {"small.mp4", "small.gif", "small.png"}) {
    CAPTURE(name);
    const std::string span = fs::path(name).extension() == ".png" ? "--at 0.2" : "--at 0.2 --to 0.21";
    const Result result = run(there + "ulimit -f 2;", trace + span + " --export " + name);
    CHECK(result.code == 1);
    CHECK(lines(result.text) >= 1);
  }
  CHECK(count() == 8);
}

TEST_CASE("program: videos and animated pictures come out whole, or not at all", "[viz][program]") {
  REQUIRE(std::system("command -v ffmpeg > /dev/null") == 0);
  {  // where it is missing
    const fs::path file = RunFiles::folder() / "none.mp4";
    const Result result =
        run("PATH=/nonexistent;", RunFiles::fixed_venturi().string() + " --export " + file.string());
    CHECK(result.code == 1);
    CHECK(result.text.find("ffmpeg") != std::string::npos);
    CHECK_FALSE(fs::exists(file));
  }
  for (const char* name : {"view.mp4", "view.gif"}) {
    const fs::path file = RunFiles::folder() / name;
    const Result result = run("", RunFiles::fixed_venturi().string() + " --export " + file.string() +
                                      " --at 0.2 --to 0.21 --size 640x360");
    CAPTURE(result.text);
    CHECK(result.code == 0);
    REQUIRE(fs::exists(file));
    CHECK(fs::file_size(file) > 2000);
  }
  const Result ending = run("", RunFiles::fixed_venturi().string() + " --export view.bmp");
  CHECK(ending.code == 2);
}

}  // namespace glassbowl::viz
