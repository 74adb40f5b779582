#include "sim/cli/progress_bar.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <string>

namespace glassbowl::sim {
namespace {

constexpr int width = 30;
constexpr std::chrono::milliseconds pause(100);

}  // namespace

ProgressBar::ProgressBar()
    : visible_(isatty(STDERR_FILENO) == 1), begin_(std::chrono::steady_clock::now()), last_(begin_ - pause) {}

ProgressBar::~ProgressBar() {
  if (drawn_) std::fputs("\r\033[K", stderr);
}

void ProgressBar::show(double share, double time) {
  if (!visible_) return;
  const auto now = std::chrono::steady_clock::now();
  if (now - last_ < pause) return;
  last_ = now;
  drawn_ = true;
  const double elapsed = std::chrono::duration<double>(now - begin_).count();
  const double left = share > 0.02 ? elapsed * (1.0 - share) / share : 0.0;
  const int full = static_cast<int>(std::clamp(share, 0.0, 1.0) * width);
  const std::string rest = left > 0.0 ? fmt::format(", about {:.0f} s left", left) : "";
  fmt::print(stderr, "\r\033[K[{:<{}}] {:3.0f} %  at {:.2f} s{}", std::string(full, '='), width, share * 100,
             time, rest);
  std::fflush(stderr);
}

}  // namespace glassbowl::sim
