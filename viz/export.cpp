#include "viz/export.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>
#include <SFML/Graphics/RenderTexture.hpp>

#include <algorithm>
#include <cctype>
#include <cerrno>
#include <csignal>
#include <cstring>
#include <vector>

#include "sim/api/error.hpp"
#include "viz/png.hpp"
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

// ffmpeg gets the open file and no name of it, which it could take for an option or an address.
constexpr int encoded_descriptor = 3;
constexpr const char* encoded_name = "/proc/self/fd/3";

std::vector<std::string> encoding(const ExportPlan& plan, bool animated_picture, unsigned rate) {
  std::vector<std::string> call{"ffmpeg",    "-hide_banner",
                                "-loglevel", "error",
                                "-xerror",   "-y",
                                "-f",        "rawvideo",
                                "-pix_fmt",  "rgba",
                                "-s",        fmt::format("{}x{}", plan.width, plan.height),
                                "-r",        std::to_string(rate),
                                "-i",        "-"};
  if (animated_picture)
    for (const char* text :
         {"-vf", "split[a][b];[a]palettegen=max_colors=128:stats_mode=diff[p];[b][p]paletteuse=dither=none",
          "-loop", "0", "-f", "gif"})
      call.emplace_back(text);
  else
    for (const char* text : {"-c:v", "libx264", "-preset", "veryfast", "-crf", "20", "-pix_fmt", "yuv420p",
                             "-movflags", "+faststart", "-f", "mp4"})
      call.emplace_back(text);
  call.emplace_back(encoded_name);
  return call;
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

/// ffmpeg, fed with raw pictures through a pipe.
class ExportJob::Encoder {
 public:
  Encoder(const std::vector<std::string>& arguments, int output) {
    int ends[2];
    if (pipe2(ends, O_CLOEXEC) != 0)
      throw sim::Error(sim::ErrorKind::file, "no pipe to ffmpeg could be opened");
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_adddup2(&actions, ends[0], 0);
    posix_spawn_file_actions_adddup2(&actions, output, encoded_descriptor);
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
      if (done < 0 && errno == EINTR) continue;
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
    while (waitpid(process_, &status, 0) < 0 && errno == EINTR) {
    }
    succeeded_ = WIFEXITED(status) && WEXITSTATUS(status) == 0;
    return succeeded_;
  }

 private:
  int pipe_ = -1;
  pid_t process_ = -1;
  bool succeeded_ = false;
};

ExportJob::ExportJob(View& view, const sf::Font& font, ExportPlan plan)
    : view_(view), canvas_(font), plan_(std::move(plan)) {
  const std::string kind = ending(plan_.target);
  Source& source = *view.first().source;
  if (kind != ".png" && kind != ".mp4" && kind != ".gif")
    throw sim::Error(sim::ErrorKind::input,
                     plan_.target.string() + ": the name must end in .png, .mp4 or .gif");
  if (source.empty())
    throw sim::Error(sim::ErrorKind::file, "the trace holds no rows: there is nothing to export");
  sim::check_output(plan_.target, plan_.replace);
  const bool picture = kind == ".png", animated_picture = kind == ".gif";
  if (!picture && (plan_.width % 2 != 0 || plan_.height % 2 != 0))
    throw sim::Error(sim::ErrorKind::input, "a video needs an even width and height");
  const double first = source.first_time();
  last_ = source.last_time();
  from_ = std::clamp(plan_.from.value_or(picture ? 0.5 * (first + last_) : first), first, last_);
  view_.playback.playing = false;
  view_.moving = kind != ".png";
  view_.playback.set_rate(plan_.rate);
  if (picture) {
    file_.emplace(plan_.target, plan_.replace);
    return;
  }
  rate_ = animated_picture ? std::max(1U, plan_.frames_per_second / 4) : plan_.frames_per_second;
  to_ = std::min(plan_.to.value_or(last_), last_);
  if (!plan_.to) to_ = std::min(to_, from_ + longest_video * view_.playback.rate);
  if (to_ <= from_) throw sim::Error(sim::ErrorKind::input, "the span to export is empty");
  frames_ = static_cast<long>((to_ - from_) / view_.playback.rate * rate_) + 1;
  file_.emplace(plan_.target, plan_.replace);
  encoder_ = std::make_unique<Encoder>(encoding(plan_, animated_picture, rate_), file_->descriptor());
}

ExportJob::~ExportJob() = default;

double ExportJob::done() const {
  return static_cast<double>(next_) / static_cast<double>(frames_);
}

bool ExportJob::step() {
  view_.playback.time = std::min(last_, from_ + static_cast<double>(next_) * view_.playback.rate / rate_);
  view_.advance(0.0);
  const sf::Image image = picture_of(view_, canvas_, plan_.width, plan_.height);
  if (!encoder_) {
    file_->append(png_of(image));
  } else if (!encoder_->put(image)) {
    fail("ffmpeg could not make it");
  }
  if (++next_ < frames_) return true;
  finish();
  return false;
}

void ExportJob::finish() {
  if (encoder_ && !encoder_->finish()) fail("ffmpeg could not make it");
  file_->publish();
}

void ExportJob::fail(const std::string& why) {
  throw sim::Error(sim::ErrorKind::file, plan_.target.string() + ": " + why);
}

void export_view(View& view, const sf::Font& font, const ExportPlan& plan) {
  ExportJob job(view, font, plan);
  while (job.step()) {
  }
}

fs::path free_name(const std::string& stem, const std::string& ending) {
  std::error_code ignored;
  for (int i = 1;; ++i) {
    fs::path name = fmt::format("{}_{}{}", stem, i, ending);
    if (!fs::exists(name, ignored) && !fs::exists(name.string() + ".partial", ignored)) return name;
  }
}

}  // namespace glassbowl::viz
