#include <string>

#include "viz/drop_target.hpp"

#include <X11/Xatom.h>
#include <X11/Xlib.h>

#include <cstdlib>
#include <sstream>

namespace glassbowl::viz {

std::vector<std::filesystem::path> paths_of_list(const std::string& list) {
  std::vector<std::filesystem::path> out;
  std::istringstream lines(list);
  for (std::string line; std::getline(lines, line);) {
    while (!line.empty() && (line.back() == '\r' || line.back() == '\0')) line.pop_back();
    const std::string scheme = "file://";
    if (!line.starts_with(scheme)) continue;
    const auto slash = line.find('/', scheme.size());  // behind a host's name, if there is one
    if (slash == std::string::npos) continue;
    std::string path;
    for (std::size_t i = slash; i < line.size(); ++i) {
      if (line[i] == '%' && i + 2 < line.size()) {
        path += static_cast<char>(std::strtol(line.substr(i + 1, 2).c_str(), nullptr, 16));
        i += 2;
      } else {
        path += line[i];
      }
    }
    out.emplace_back(path);
  }
  return out;
}

struct DropTarget::State {
  Display* display = nullptr;
  Window target = 0, proxy = 0, source = 0;
  Atom aware, proxy_name, enter, position, status, leave, drop, finished, copy, selection, uri_list, landing;

  Atom atom(const char* name) { return XInternAtom(display, name, False); }

  void answer(Atom type, long accepts, long more = 0) {
    XEvent event{};
    event.xclient.type = ClientMessage;
    event.xclient.display = display;
    event.xclient.window = source;
    event.xclient.message_type = type;
    event.xclient.format = 32;
    event.xclient.data.l[0] = static_cast<long>(target);
    event.xclient.data.l[1] = accepts;
    event.xclient.data.l[type == finished ? 2 : 4] = more;
    XSendEvent(display, source, False, NoEventMask, &event);
    XFlush(display);
  }

  std::vector<std::filesystem::path> read_landing() {
    Atom type = 0;
    int format = 0;
    unsigned long count = 0, left = 0;
    unsigned char* data = nullptr;
    std::vector<std::filesystem::path> out;
    if (XGetWindowProperty(display, proxy, landing, 0, 65536, True, AnyPropertyType, &type, &format, &count,
                           &left, &data) == Success &&
        data != nullptr) {
      if (format == 8) out = paths_of_list(std::string(reinterpret_cast<char*>(data), count));
      XFree(data);
    }
    return out;
  }
};

DropTarget::DropTarget(unsigned long window) : state_(std::make_unique<State>()) {
  auto& s = *state_;
  s.display = XOpenDisplay(nullptr);
  if (s.display == nullptr) return;
  s.target = window;
  s.aware = s.atom("XdndAware"), s.proxy_name = s.atom("XdndProxy"), s.enter = s.atom("XdndEnter");
  s.position = s.atom("XdndPosition"), s.status = s.atom("XdndStatus"), s.leave = s.atom("XdndLeave");
  s.drop = s.atom("XdndDrop"), s.finished = s.atom("XdndFinished"), s.copy = s.atom("XdndActionCopy");
  s.selection = s.atom("XdndSelection"), s.uri_list = s.atom("text/uri-list");
  s.landing = s.atom("GLASSBOWL_DROP");
  s.proxy = XCreateSimpleWindow(s.display, DefaultRootWindow(s.display), -10, -10, 1, 1, 0, 0, 0);
  const long version = 5;
  for (const Window each : {s.target, s.proxy}) {
    XChangeProperty(s.display, each, s.aware, XA_ATOM, 32, PropModeReplace,
                    reinterpret_cast<const unsigned char*>(&version), 1);
    XChangeProperty(s.display, each, s.proxy_name, XA_WINDOW, 32, PropModeReplace,
                    reinterpret_cast<const unsigned char*>(&s.proxy), 1);
  }
  XFlush(s.display);
}

DropTarget::~DropTarget() {
  if (state_->display != nullptr) XCloseDisplay(state_->display);
}

std::vector<std::filesystem::path> DropTarget::take() {
  auto& s = *state_;
  std::vector<std::filesystem::path> out;
  while (s.display != nullptr && XPending(s.display) > 0) {
    XEvent event;
    XNextEvent(s.display, &event);
    if (event.type == SelectionNotify) {
      if (event.xselection.property != None) out = s.read_landing();
      s.answer(s.finished, out.empty() ? 0 : 1, static_cast<long>(s.copy));
      continue;
    }
    if (event.type != ClientMessage) continue;
    const auto& message = event.xclient;
    if (message.message_type == s.enter || message.message_type == s.position ||
        message.message_type == s.drop)
      s.source = static_cast<Window>(message.data.l[0]);
    if (message.message_type == s.position) s.answer(s.status, 1, static_cast<long>(s.copy));
    if (message.message_type == s.drop)
      XConvertSelection(s.display, s.selection, s.uri_list, s.landing, s.proxy,
                        static_cast<Time>(message.data.l[2]));
    XFlush(s.display);
  }
  return out;
}

}  // namespace glassbowl::viz
