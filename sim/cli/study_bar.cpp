#include "sim/cli/study_bar.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <string>

namespace glassbowl::sim {
namespace {

constexpr std::size_t width = 30;
constexpr std::chrono::milliseconds pause(200);

std::string left_text(double seconds) {
  return seconds < 90.0 ? fmt::format("about {:.0f} s left", seconds)
                        : fmt::format("about {:.0f} min left", seconds / 60.0);
}

}  // namespace

StudyBar::StudyBar() : visible_(isatty(STDERR_FILENO) == 1), begin_(std::chrono::steady_clock::now()) {}

StudyBar::~StudyBar() {
  if (drawn_) std::fputs("\r\033[K", stderr);
}

void StudyBar::show(std::size_t done, std::size_t of) {
  if (!visible_ || of == 0) return;
  const auto now = std::chrono::steady_clock::now();
  if (!drawn_) first_ = done - 1;
  if (drawn_ && now - last_ < pause) return;
  last_ = now;
  drawn_ = true;
  const double elapsed = std::chrono::duration<double>(now - begin_).count();
  const auto fresh = static_cast<double>(done - first_);
  const std::size_t full = std::min(width, width * done / of);
  fmt::print(stderr, "\r\033[K[{:<{}}] {} of {} points, {}", std::string(full, '='), width, done, of,
             left_text(elapsed / fresh * static_cast<double>(of - std::min(of, done))));
  std::fflush(stderr);
}

}  // namespace glassbowl::sim
