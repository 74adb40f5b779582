#include <fmt/format.h>
#include <imgui.h>
#include <imgui_stdlib.h>
#include <SFML/Window/Keyboard.hpp>

#include <array>
#include <cmath>
#include <numbers>

#include "viz/panels/app.hpp"

namespace glassbowl::viz {
namespace {

/// A control of the bike whose values are shown; moving it moves that value on every bike in reach.
template <class Member>
void slider(App& app, std::size_t bike, const char* name, Member member, double low, double high,
            double factor, const char* format) {
  auto shown = static_cast<float>(app.controls[bike].*member * factor);
  ImGui::TextUnformatted(name);
  ImGui::SetNextItemWidth(-1);
  ImGui::PushID(name);
  const bool moved = ImGui::SliderFloat("##value", &shown, static_cast<float>(low * factor),
                                        static_cast<float>(high * factor), format);
  ImGui::PopID();
  if (moved) app.adjust([=](sim::LiveControls& c) { c.*member = static_cast<double>(shown) / factor; });
}

void draw_blip(const LiveSource& live) {
  const auto& blip = live.blip();
  if (!blip) return;
  const auto ms = [](double s) {
    return std::isfinite(s) ? fmt::format("{:.0f} ms", s * 1e3) : std::string("not reached");
  };
  ImGui::TextDisabled("Blip lag");
  ImGui::TextWrapped("%s to half of the rise\n%s to nine tenths\nleanest λ %.2f, %ld misfires%s%s",
                     ms(blip->half).c_str(), ms(blip->most).c_str(), blip->leanest, blip->misfires,
                     blip->note.empty() ? "" : "\n", blip->note.c_str());
}

using sim::Geometry;

struct Change {
  const char* name;
  const char* key;
  const char* unit;
  double factor;
  double (*present)(const Geometry&);
  double step;
  bool (*fitted)(const Geometry&);
};

bool always(const Geometry&) {
  return true;
}
bool has_piston(const Geometry& g) {
  return g.vacuum_piston;
}
bool has_pump(const Geometry& g) {
  return g.pump_fitted;
}

const std::array changes{
    Change{"main jet, bore", "carburetor.main.jet.bore", "mm", 1e3,
           [](const Geometry& g) { return g.main_jet.bore; }, 0.05, always},
    Change{"main air jet, bore", "carburetor.main.air_jet.bore", "mm", 1e3,
           [](const Geometry& g) { return g.main_air_jet.bore; }, 0.1, always},
    Change{"slow jet, bore", "carburetor.slow.jet.bore", "mm", 1e3,
           [](const Geometry& g) { return g.slow.jet.bore; }, 0.02, always},
    Change{"mixture screw, turns out", "carburetor.screw.turns", "", 1.0,
           [](const Geometry& g) { return g.screw_turns; }, 0.25, always},
    Change{"needle, raised", "carburetor.needle.raised", "mm", 1e3,
           [](const Geometry& g) { return g.needle_raised; }, 0.5, has_piston},
    Change{"float level", "float.level", "mm", 1e3, [](const Geometry& g) { return g.bowl_set_level; }, 1.0,
           always},
    Change{"pump nozzle, bore", "carburetor.pump.nozzle.bore", "mm", 1e3,
           [](const Geometry& g) { return g.pump_nozzle.bore; }, 0.05, has_pump},
};

struct Fault {
  const char* name;
  const char* key;
  const char* bad;
  bool (*fitted)(const Geometry&);
};
const std::array faults{Fault{"slow jet half blocked", "carburetor.slow.jet.blocked", "50 %", always},
                        Fault{"main jet half blocked", "carburetor.main.jet.blocked", "50 %", always},
                        Fault{"air leak at the manifold", "manifold.leak_area", "10 mm2", always},
                        Fault{"filter clogged", "inlet.filter_clogged", "80 %", always},
                        Fault{"float valve leaks", "float.needle_leak", "0.5 mm2", always},
                        Fault{"pump leaks all", "carburetor.pump.leak_area", "5 mm2", has_pump},
                        Fault{"diaphragm torn", "carburetor.piston.torn_area", "40 mm2", has_piston},
                        Fault{"piston sticks", "carburetor.piston.guide_friction", "1 N", has_piston}};

}  // namespace

void draw_live_controls(App& app, float top, float height, float width) {
  if (app.live.empty()) return;
  const ImVec2 size = ImGui::GetIO().DisplaySize;
  ImGui::SetNextWindowPos({size.x - width, top});
  ImGui::SetNextWindowSize({width, height});
  ImGui::Begin("Controls", nullptr,
               ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoResize | ImGuiWindowFlags_NoCollapse |
                   ImGuiWindowFlags_NoTitleBar | ImGuiWindowFlags_NoSavedSettings |
                   ImGuiWindowFlags_NoBringToFrontOnFocus);
  using C = sim::LiveControls;
  const std::size_t bike = app.hand > 0 ? static_cast<std::size_t>(app.hand) : 0;
  if (app.live.size() > 1) {
    int hand = app.hand + 1;
    ImGui::TextUnformatted("hands on");
    ImGui::SetNextItemWidth(-1);
    if (ImGui::Combo("##hand", &hand, "both bikes\0left bike\0right bike\0")) app.hand = hand - 1;
  }
  slider(app, bike, "throttle", &C::throttle, 0, 1, 100, "%.0f %%");
  slider(app, bike, "choke or enrichment", &C::choke, 0, 1, 100, "%.0f %%");
  slider(app, bike, "fuel tap", &C::tap, 0, 1, 100, "%.0f %%");
  slider(app, bike, "altitude", &C::altitude, 0, 3000, 1, "%.0f m");
  int load = static_cast<int>(app.controls[bike].load);
  ImGui::TextUnformatted("load");
  ImGui::SetNextItemWidth(-1);
  if (ImGui::Combo("##load", &load, "speed held\0neutral\0in gear\0"))
    app.adjust([load](C& c) { c.load = static_cast<sim::LiveLoad>(load); });
  if (app.controls[bike].load == sim::LiveLoad::held_speed)
    slider(app, bike, "held speed", &C::speed, 60, 750, 30.0 / std::numbers::pi, "%.0f 1/min");
  bool starter = app.controls[bike].starter > 0.5;
  if (ImGui::Checkbox("starter", &starter)) app.adjust([starter](C& c) { c.starter = starter ? 1.0 : 0.0; });
  ImGui::Separator();
  if (ImGui::Button("Snap open (B)", {-1, 0})) run_command(app, sf::Keyboard::B, false);
  if (ImGui::Button("Change parts (C)", {-1, 0})) run_command(app, sf::Keyboard::C, false);
  if (ImGui::Button(app.recording() ? "Stop recording (R)" : "Record (R)", {-1, 0}))
    run_command(app, sf::Keyboard::R, false);
  if (ImGui::Button("Start anew", {-1, 0})) run_command(app, sf::Keyboard::BackSpace, true);
  ImGui::Separator();
  for (std::size_t i = 0; i < app.live.size(); ++i) {
    const auto* live = app.live[i];
    if (app.live.size() > 1) ImGui::TextDisabled(i == 0 ? "Left" : "Right");
    ImGui::TextWrapped("%.3f of real time", live->achieved_rate());
    if (live->stalled()) ImGui::TextWrapped("The engine has stopped. Start anew: Shift+Backspace.");
    draw_blip(*live);
  }
  ImGui::End();
}

void draw_part_changes(App& app) {
  if (app.panel != Panel::changes || app.live.empty()) return;
  place_panel(440, 218);
  bool open = true;
  ImGui::Begin(
      "Change parts while it runs", &open,
      ImGuiWindowFlags_NoSavedSettings | ImGuiWindowFlags_NoCollapse | ImGuiWindowFlags_AlwaysAutoResize);
  if (ImGui::IsWindowAppearing()) ImGui::SetWindowFocus();
  if (!open) app.panel = Panel::none;
  // First, so that nobody has to scroll for it.
  ImGui::TextWrapped(
      "This is a model. On a real engine a smaller jet, a lower needle or a lower float makes the mixture "
      "leaner: it overheats and can seize. Petrol burns. The workshop manual and local emission rules come "
      "first.");
  if (app.live.size() > 1)
    ImGui::TextDisabled("Changes go to %s (4 chooses).", app.hand < 0    ? "both bikes"
                                                         : app.hand == 0 ? "the left bike"
                                                                         : "the right bike");
  ImGui::Separator();
  const std::size_t bike = app.hand > 0 ? static_cast<std::size_t>(app.hand) : 0;
  const auto& g = app.live[bike]->geometry();
  const auto send = [&](const std::string& key, const std::string& value) {
    for (std::size_t i = 0; i < app.live.size(); ++i)
      if (app.reaches(i)) app.live[i]->bench().set_key(key, value);
  };
  for (const auto& change : changes) {
    if (!change.fitted(g)) continue;
    ImGui::PushID(change.key);
    const double now = change.present(g) * change.factor;
    const auto write = [&](double v) {
      return *change.unit == 0 ? fmt::format("{:.3f}", v) : fmt::format("\"{:.3f} {}\"", v, change.unit);
    };
    if (ImGui::Button(" - ")) send(change.key, write(now - change.step));
    ImGui::SameLine();
    if (ImGui::Button(" + ")) send(change.key, write(now + change.step));
    ImGui::SameLine();
    ImGui::Text("%s: %.2f %s", change.name, now, change.unit);
    ImGui::PopID();
  }
  ImGui::Separator();
  ImGui::TextDisabled("Faults");
  for (const auto& fault : faults) {
    if (!fault.fitted(g)) continue;
    bool set = app.broken[bike].contains(fault.key);
    if (!ImGui::Checkbox(fault.name, &set)) continue;
    send(fault.key, set ? fmt::format("\"{}\"", fault.bad) : std::string());
    for (std::size_t i = 0; i < app.live.size(); ++i)
      if (app.reaches(i)) set ? (void)app.broken[i].insert(fault.key) : (void)app.broken[i].erase(fault.key);
  }
  ImGui::Separator();
  static std::string key = "carburetor.main.jet.bore", value = "\"1.60 mm\"";
  ImGui::TextDisabled("Any other key of the case");
  ImGui::InputText("key", &key);
  ImGui::InputText("value", &value);
  if (ImGui::Button("Set")) send(key, value);
  ImGui::End();
}

}  // namespace glassbowl::viz
