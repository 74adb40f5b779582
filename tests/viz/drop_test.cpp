#include <catch2/catch.hpp>
#include <chrono>
#include <string>
#include <thread>

#include "viz/drop_target.hpp"

// Last: it has macros by common names.
#include <X11/Xatom.h>
#include <X11/Xlib.h>

namespace glassbowl::viz {

TEST_CASE("drop: paths are read from a list of addresses, escapes and hosts included", "[viz][drop]") {
  const auto paths =
      paths_of_list("# comment\r\nfile:///tmp/a%20b.h5\r\nfile://host/x/y.toml\r\nhttp://other/z\r\n");
  REQUIRE(paths.size() == 2);
  CHECK(paths[0] == "/tmp/a b.h5");
  CHECK(paths[1] == "/x/y.toml");
}

TEST_CASE("drop: a file that another program drops on the window arrives", "[viz][drop]") {
  Display* display = XOpenDisplay(nullptr);
  REQUIRE(display != nullptr);
  const Window root = DefaultRootWindow(display);
  const Window target = XCreateSimpleWindow(display, root, 0, 0, 50, 50, 0, 0, 0),
               source = XCreateSimpleWindow(display, root, 60, 0, 50, 50, 0, 0, 0);
  XSync(display, False);
  DropTarget drops(target);
  const auto atom = [&](const char* name) { return XInternAtom(display, name, False); };
  // As a file manager does: find the stand-in, own the selection, send position and drop.
  Atom type = 0;
  int format = 0;
  unsigned long count = 0, left = 0;
  unsigned char* data = nullptr;
  XGetWindowProperty(display, target, atom("XdndProxy"), 0, 1, False, XA_WINDOW, &type, &format, &count,
                     &left, &data);
  REQUIRE(count == 1);
  const Window proxy = *reinterpret_cast<Window*>(data);
  XFree(data);
  XSetSelectionOwner(display, atom("XdndSelection"), source, CurrentTime);
  const auto send = [&](const char* name) {
    XEvent event{};
    event.xclient.type = ClientMessage;
    event.xclient.window = target;
    event.xclient.message_type = atom(name);
    event.xclient.format = 32;
    event.xclient.data.l[0] = static_cast<long>(source);
    event.xclient.data.l[1] = 5L << 24;
    XSendEvent(display, proxy, False, NoEventMask, &event);
    XFlush(display);
  };
  send("XdndEnter");
  send("XdndPosition");
  send("XdndDrop");
  bool accepted = false, finished = false;
  std::vector<std::filesystem::path> files;
  for (int i = 0; i < 400 && !finished; ++i) {
    if (auto some = drops.take(); !some.empty()) files = some;
    while (XPending(display) > 0) {
      XEvent event;
      XNextEvent(display, &event);
      if (event.type == ClientMessage && event.xclient.message_type == atom("XdndStatus"))
        accepted = (event.xclient.data.l[1] & 1) != 0;
      if (event.type == ClientMessage && event.xclient.message_type == atom("XdndFinished"))
        finished = (event.xclient.data.l[1] & 1) != 0;
      if (event.type != SelectionRequest) continue;
      const std::string list = "file:///tmp/my%20run.h5\r\n";
      const auto& wanted = event.xselectionrequest;
      XChangeProperty(display, wanted.requestor, wanted.property, wanted.target, 8, PropModeReplace,
                      reinterpret_cast<const unsigned char*>(list.data()), static_cast<int>(list.size()));
      XEvent answer{};
      answer.xselection.type = SelectionNotify;
      answer.xselection.requestor = wanted.requestor;
      answer.xselection.selection = wanted.selection;
      answer.xselection.target = wanted.target;
      answer.xselection.property = wanted.property;
      XSendEvent(display, wanted.requestor, False, NoEventMask, &answer);
      XFlush(display);
    }
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
  }
  CHECK(accepted);
  CHECK(finished);
  REQUIRE(files.size() == 1);
  CHECK(files[0] == "/tmp/my run.h5");
  XCloseDisplay(display);
}

}  // namespace glassbowl::viz
