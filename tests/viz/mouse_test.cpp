#include <fcntl.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <SFML/Graphics/Color.hpp>
#include <catch2/catch.hpp>
#include <chrono>
#include <cstdlib>
#include <functional>
#include <string>
#include <thread>

#include "tests/viz/pixels.hpp"
#include "tests/viz/run_files.hpp"
#include "viz/look/palette.hpp"

// Last: it has macros by common names.
#include <X11/Xlib.h>
#include <X11/Xutil.h>

namespace glassbowl::viz {
namespace {

namespace fs = std::filesystem;

/// The program in a window of its own, worked by mouse events as a user's.
class Program {
 public:
  explicit Program(const fs::path& folder) : display_(XOpenDisplay(nullptr)) {
    process_ = fork();
    if (process_ == 0) {
      if (chdir(folder.c_str()) != 0) _exit(1);
      setenv("XDG_STATE_HOME", folder.c_str(), 1);
      const int nowhere = open("/dev/null", O_WRONLY);
      dup2(nowhere, 1);
      dup2(nowhere, 2);
      execl(GLASSBOWL_VIEW, GLASSBOWL_VIEW, "--size", "1280x720", static_cast<char*>(nullptr));
      _exit(1);
    }
    XSetErrorHandler([](Display*, XErrorEvent*) { return 0; });  // a window not yet there gives no picture
    wait([&] { return (window_ = find(DefaultRootWindow(display_))) != 0; });
    std::this_thread::sleep_for(std::chrono::milliseconds(500));
    XMoveWindow(display_, window_, 0, 0);  // wholly on the screen: no window manager sees to that
    XSync(display_, False);
  }
  ~Program() {
    kill(process_, SIGTERM);
    waitpid(process_, nullptr, 0);
    XCloseDisplay(display_);
  }
  Program(const Program&) = delete;
  Program& operator=(const Program&) = delete;

  bool opened() const { return window_ != 0; }

  void click(int x, int y) {
    XEvent event{};
    event.xmotion.type = MotionNotify;
    event.xmotion.window = window_;
    event.xmotion.x = x;
    event.xmotion.y = y;
    for (const int type : {MotionNotify, ButtonPress, ButtonRelease}) {
      event.type = type;
      if (type != MotionNotify) {
        event.xbutton.window = window_;
        event.xbutton.x = x;
        event.xbutton.y = y;
        event.xbutton.button = Button1;
      }
      XSendEvent(display_, window_, True, 0, &event);
      XFlush(display_);
      std::this_thread::sleep_for(std::chrono::milliseconds(250));
    }
  }

  /// Pixels of a colour in a part of the window.
  int pixels(sf::Color color, const Box& box) {
    XImage* image = XGetImage(display_, window_, static_cast<int>(box.x), static_cast<int>(box.y),
                              static_cast<unsigned>(box.w), static_cast<unsigned>(box.h), AllPlanes, ZPixmap);
    if (image == nullptr) return -1;
    int count = 0;
    for (int y = 0; y < image->height; ++y)
      for (int x = 0; x < image->width; ++x) {
        const unsigned long p = XGetPixel(image, x, y);
        const sf::Color c(static_cast<sf::Uint8>(p >> 16U), static_cast<sf::Uint8>(p >> 8U),
                          static_cast<sf::Uint8>(p));
        count += distance(c, color) < 40 ? 1 : 0;
      }
    XDestroyImage(image);
    return count;
  }

  static bool wait(const std::function<bool()>& done) {
    for (int i = 0; i < 300; ++i) {
      if (done()) return true;
      std::this_thread::sleep_for(std::chrono::milliseconds(100));
    }
    return false;
  }

 private:
  Window find(Window from) {
    char* name = nullptr;
    if (XFetchName(display_, from, &name) != 0 && name != nullptr) {
      const bool ours = std::string(name) == "glassbowl";
      XFree(name);
      if (ours) return from;
    }
    Window root = 0, parent = 0, *children = nullptr, found = 0;
    unsigned count = 0;
    if (XQueryTree(display_, from, &root, &parent, &children, &count) == 0) return 0;
    for (unsigned i = 0; i < count && found == 0; ++i) found = find(children[i]);
    if (children != nullptr) XFree(children);
    return found;
  }

  Display* display_;
  pid_t process_ = 0;
  Window window_ = 0;
};

}  // namespace

TEST_CASE("program: by mouse alone a bike is opened, a jet changed and given back, and a picture saved",
          "[viz][program][mouse]") {
  const fs::path folder = RunFiles::folder() / "mouse";
  fs::create_directories(folder);
  Program program(folder);
  REQUIRE(program.opened());
  const Box drawing{10, 60, 500, 320}, controls{1075, 400, 200, 120};
  const auto bowl = [&] { return program.pixels(color_of(Hue::fuel, dark_theme()), drawing) > 300; };
  const auto modified = [&] { return program.pixels(dark_theme().danger, controls) > 20; };
  CHECK(Program::wait([&] { return program.pixels(dark_theme().text, {340, 50, 500, 500}) > 20; }));
  CHECK_FALSE(bowl());
  program.click(595, 626);  // start the engine
  REQUIRE(Program::wait(bowl));
  CHECK_FALSE(modified());
  program.click(1174, 302);  // snap the throttle open
  program.click(1174, 327);  // change parts
  program.click(653, 134);   // a larger main jet
  CHECK(Program::wait(modified));
  program.click(1124, 377);  // undo
  CHECK(Program::wait([&] { return !modified(); }));
  program.click(667, 18);  // picture
  CHECK(Program::wait([&] { return fs::exists(folder / "glassbowl_1.png"); }));
}

}  // namespace glassbowl::viz
