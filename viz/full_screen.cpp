#include "viz/full_screen.hpp"

#include <X11/Xlib.h>

namespace glassbowl::viz {

void toggle_full_screen(unsigned long window) {
  Display* display = XOpenDisplay(nullptr);
  if (display == nullptr) return;
  XEvent event{};
  event.xclient.type = ClientMessage;
  event.xclient.window = window;
  event.xclient.message_type = XInternAtom(display, "_NET_WM_STATE", False);
  event.xclient.format = 32;
  event.xclient.data.l[0] = 2;  // toggle
  event.xclient.data.l[1] = static_cast<long>(XInternAtom(display, "_NET_WM_STATE_FULLSCREEN", False));
  event.xclient.data.l[3] = 1;  // asked by the program for its user
  XSendEvent(display, DefaultRootWindow(display), False, SubstructureNotifyMask | SubstructureRedirectMask,
             &event);
  XCloseDisplay(display);
}

}  // namespace glassbowl::viz
