#include "viz/export.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>
#include <SFML/Graphics/RenderTexture.hpp>

#include <algorithm>
#include <cctype>
#include <csignal>
#include <cstring>
#include <vector>

#include "sim/api/error.hpp"
#include "viz/quiet.hpp"

extern char** environ;

namespace glassbowl::viz {
namespace {

namespace fs = std::filesystem;
constexpr double longest_video = 120.0;  // [s], unless a span is given
constexpr unsigned most_pixels = 8192;

std::string ending(const fs::path& path) {
  std::string text = path.extension().string();
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return text;
}

/// ffmpeg, fed with raw pictures through a pipe.
class Encoder {
 public:
  explicit Encoder(const std::vector<std::string>& arguments) {
    int ends[2];
    if (pipe2(ends, O_CLOEXEC) != 0)
      throw sim::Error(sim::ErrorKind::file, "no pipe to ffmpeg could be opened");
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_adddup2(&actions, ends[0], 0);
    std::vector<char*> call;
    std::vector<std::string> texts = arguments;
    for (auto& text : texts) call.push_back(text.data());
    call.push_back(nullptr);
    const int failure = posix_spawnp(&process_, "ffmpeg", &actions, nullptr, call.data(), environ);
    posix_spawn_file_actions_destroy(&actions);
    close(ends[0]);
    pipe_ = ends[1];
    if (failure != 0) {
      close(pipe_);
      throw sim::Error(sim::ErrorKind::file,
                       "ffmpeg could not be started; Debian's package ffmpeg holds it. A PNG needs none");
    }
    std::signal(SIGPIPE, SIG_IGN);
  }
  ~Encoder() { finish(); }
  Encoder(const Encoder&) = delete;
  Encoder& operator=(const Encoder&) = delete;

  bool put(const sf::Image& image) {
    const auto* at = reinterpret_cast<const char*>(image.getPixelsPtr());
    std::size_t left = std::size_t{4} * image.getSize().x * image.getSize().y;
    while (left > 0) {
      const ssize_t done = write(pipe_, at, left);
      if (done <= 0) return false;
      at += done;
      left -= static_cast<std::size_t>(done);
    }
    return true;
  }

  bool finish() {
    if (pipe_ < 0) return succeeded_;
    close(pipe_);
    pipe_ = -1;
    int status = 1;
    waitpid(process_, &status, 0);
    succeeded_ = WIFEXITED(status) && WEXITSTATUS(status) == 0;
    return succeeded_;
  }

 private:
  int pipe_ = -1;
  pid_t process_ = -1;
  bool succeeded_ = false;
};

std::vector<std::string> encoding(const ExportPlan& plan, const fs::path& target, bool animated_picture,
                                  unsigned rate) {
  std::vector<std::string> call{"ffmpeg",
                                "-hide_banner",
                                "-loglevel",
                                "error",
                                "-y",
                                "-f",
                                "rawvideo",
                                "-pix_fmt",
                                "rgba",
                                "-s",
                                fmt::format("{}x{}", plan.width, plan.height),
                                "-r",
                                std::to_string(rate),
                                "-i",
                                "-"};
  if (animated_picture)
    for (const char* text :
         {"-vf", "split[a][b];[a]palettegen=max_colors=128:stats_mode=diff[p];[b][p]paletteuse=dither=none",
          "-loop", "0", "-f", "gif"})
      call.emplace_back(text);
  else
    for (const char* text : {"-c:v", "libx264", "-preset", "veryfast", "-crf", "20", "-pix_fmt", "yuv420p",
                             "-movflags", "+faststart", "-f", "mp4"})
      call.emplace_back(text);
  call.push_back(target.string());
  return call;
}

void check_target(const fs::path& target) {
  std::error_code ignored;
  const fs::path folder = target.parent_path();
  if (!folder.empty() && !fs::is_directory(folder, ignored))
    throw sim::Error(sim::ErrorKind::file, folder.string() + ": there is no such folder to export into");
}

}  // namespace

std::pair<unsigned, unsigned> read_size(const std::string& text) {
  unsigned width = 0, height = 0;
  char rest = 0;
  if (std::sscanf(text.c_str(), "%ux%u%c", &width, &height, &rest) != 2 || width < 320 || height < 180 ||
      width > most_pixels || height > most_pixels)
    throw sim::Error(
        sim::ErrorKind::input,
        fmt::format("\"{}\" is not a size; give width x height in pixels, such as 1280x720", text));
  return {width, height};
}

sf::Image picture_of(View& view, Canvas& canvas, unsigned width, unsigned height) {
  static sf::RenderTexture target;
  if (target.getSize() != sf::Vector2u(width, height)) {
    const Quiet quiet;
    if (!target.create(width, height))
      throw sim::Error(sim::ErrorKind::file,
                       fmt::format("the graphics driver gives no picture of {} x {}", width, height));
  }
  const Point size(static_cast<float>(width), static_cast<float>(height));
  view.draw(canvas, size, {0, 0, size.x, size.y});
  target.clear(view.theme().background);
  canvas.draw_to(target);
  target.display();
  return target.getTexture().copyToImage();
}

void export_view(View& view, const sf::Font& font, const ExportPlan& plan) {
  const std::string kind = ending(plan.target);
  Source& source = *view.first().source;
  if (kind != ".png" && kind != ".mp4" && kind != ".gif")
    throw sim::Error(sim::ErrorKind::input,
                     plan.target.string() + ": the name must end in .png, .mp4 or .gif");
  if (source.empty())
    throw sim::Error(sim::ErrorKind::file, "the trace holds no rows: there is nothing to export");
  check_target(plan.target);
  const double first = source.first_time(), last = source.last_time();
  const double from =
      std::clamp(plan.from.value_or(kind == ".png" ? 0.5 * (first + last) : first), first, last);
  Canvas canvas(font);
  view.playback.playing = false;
  view.playback.time = from;
  view.playback.set_rate(plan.rate);
  const fs::path unfinished = plan.target.string() + ".unfinished" + kind;
  const auto fail = [&](const std::string& why) {
    std::error_code ignored;
    fs::remove(unfinished, ignored);
    throw sim::Error(sim::ErrorKind::file, plan.target.string() + ": " + why);
  };

  view.advance(0.0);
  if (kind == ".png") {
    const sf::Image image = picture_of(view, canvas, plan.width, plan.height);
    const Quiet quiet;
    if (!image.saveToFile(unfinished.string())) fail("could not be written");
  } else {
    const bool animated_picture = kind == ".gif";
    const unsigned rate =
        animated_picture ? std::max(1U, plan.frames_per_second / 4) : plan.frames_per_second;
    if (plan.width % 2 != 0 || plan.height % 2 != 0)
      throw sim::Error(sim::ErrorKind::input, "a video needs an even width and height");
    double to = std::min(plan.to.value_or(last), last);
    if (!plan.to) to = std::min(to, from + longest_video * view.playback.rate);
    const auto frames = static_cast<long>((to - from) / view.playback.rate * rate) + 1;
    if (to <= from) throw sim::Error(sim::ErrorKind::input, "the span to export is empty");
    Encoder encoder(encoding(plan, unfinished, animated_picture, rate));
    for (long i = 0; i < frames; ++i) {
      view.playback.time = std::min(last, from + static_cast<double>(i) * view.playback.rate / rate);
      view.advance(0.0);
      if (!encoder.put(picture_of(view, canvas, plan.width, plan.height))) break;
    }
    if (!encoder.finish()) fail("ffmpeg could not make it");
  }
  std::error_code failure;
  fs::rename(unfinished, plan.target, failure);
  if (failure) fail("could not be written: " + failure.message());
}

}  // namespace glassbowl::viz
