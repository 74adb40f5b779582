#include "viz/display.hpp"

#include <X11/Xlib.h>
#include <unistd.h>

#include <cstdlib>
#include <string>
#include <vector>

#include "sim/api/error.hpp"

namespace glassbowl::viz {
namespace {

constexpr const char* borrowed_mark = "GLASSBOWL_DISPLAY_BORROWED";

}  // namespace

bool has_display() {
  // Kept open: a virtual server may start again, and refuse for a moment, when its last visitor leaves.
  static Display* const display = XOpenDisplay(nullptr);
  return display != nullptr;
}

void require_display() {
  if (has_display()) return;
  const char* name = std::getenv("DISPLAY");
  throw sim::Error(
      sim::ErrorKind::file,
      name == nullptr
          ? std::string(
                "there is no display: DISPLAY is not set. Start this in a desktop session, or export a "
                "picture with --export, which needs none but the package xvfb")
          : "the display " + std::string(name) + " cannot be opened. Is it running, and may you use it?");
}

void borrow_display(char** arguments) {
  if (has_display()) return;
  if (std::getenv(borrowed_mark) == nullptr) {
    setenv(borrowed_mark, "1", 1);
    std::vector<char*> call;
    std::string runner = "xvfb-run", automatic = "-a", server = "-s", screen = "-screen 0 1280x720x24";
    for (auto* text : {&runner, &automatic, &server, &screen}) call.push_back(text->data());
    for (char** at = arguments; *at != nullptr; ++at) call.push_back(*at);
    call.push_back(nullptr);
    execvp("xvfb-run", call.data());
  }
  throw sim::Error(sim::ErrorKind::file,
                   "there is no display, and xvfb-run, which would lend one, is missing: install xvfb");
}

}  // namespace glassbowl::viz
