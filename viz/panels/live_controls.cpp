#include <fmt/format.h>
#include <imgui.h>
#include <imgui_stdlib.h>
#include <SFML/Window/Keyboard.hpp>

#include <array>
#include <numbers>

#include "viz/panels/app.hpp"

namespace glassbowl::viz {
namespace {

bool slider(const char* name, double& value, double low, double high, double factor, const char* format) {
  auto shown = static_cast<float>(value * factor);
  ImGui::SetNextItemWidth(-1);
  ImGui::TextUnformatted(name);
  ImGui::SetNextItemWidth(-1);
  ImGui::PushID(name);
  const bool moved = ImGui::SliderFloat("##value", &shown, static_cast<float>(low * factor),
                                        static_cast<float>(high * factor), format);
  ImGui::PopID();
  if (moved) value = static_cast<double>(shown) / factor;
  return moved;
}

struct Change {
  const char* name;
  const char* key;
  const char* unit;
  double factor;
  double (*present)(const sim::Geometry&);
  double step;
  bool leans;  ///< smaller is leaner, or larger is
};

const std::array changes{
    Change{"main jet, bore", "carburetor.main.jet.bore", "mm", 1e3,
           [](const sim::Geometry& g) { return g.main_jet.bore; }, 0.05, true},
    Change{"main air jet, bore", "carburetor.main.air_jet.bore", "mm", 1e3,
           [](const sim::Geometry& g) { return g.main_air_jet.bore; }, 0.1, true},
    Change{"slow jet, bore", "carburetor.slow.jet.bore", "mm", 1e3,
           [](const sim::Geometry& g) { return g.slow.jet.bore; }, 0.02, true},
    Change{"mixture screw, turns out", "carburetor.screw.turns", "", 1.0,
           [](const sim::Geometry& g) { return g.screw_turns; }, 0.25, true},
    Change{"needle, raised", "carburetor.needle.raised", "mm", 1e3,
           [](const sim::Geometry& g) { return g.needle_raised; }, 0.5, true},
    Change{"float level", "float.level", "mm", 1e3, [](const sim::Geometry& g) { return g.bowl_set_level; },
           1.0, true},
    Change{"pump nozzle, bore", "carburetor.pump.nozzle.bore", "mm", 1e3,
           [](const sim::Geometry& g) { return g.pump_nozzle.bore; }, 0.05, true},
};

struct Fault {
  const char* name;
  const char* key;
  const char* bad;
  const char* good;
};
constexpr std::array faults{Fault{"slow jet half blocked", "carburetor.slow.jet.blocked", "50 %", "0 %"},
                            Fault{"main jet half blocked", "carburetor.main.jet.blocked", "50 %", "0 %"},
                            Fault{"air leak at the manifold", "manifold.leak_area", "10 mm2", "0 mm2"},
                            Fault{"filter clogged", "inlet.filter_clogged", "80 %", "0 %"},
                            Fault{"pump leaks all", "carburetor.pump.leak_area", "5 mm2", "0.02 mm2"},
                            Fault{"diaphragm torn", "carburetor.piston.torn_area", "40 mm2", "0 mm2"},
                            Fault{"piston sticks", "carburetor.piston.guide_friction", "1 N", "0.05 N"},
                            Fault{"float valve leaks", "float.needle_leak", "0.5 mm2", "0 mm2"}};

}  // namespace

void draw_live_controls(App& app, float top, float height, float width) {
  if (app.live.empty()) return;
  const ImVec2 size = ImGui::GetIO().DisplaySize;
  ImGui::SetNextWindowPos({size.x - width, top});
  ImGui::SetNextWindowSize({width, height});
  ImGui::Begin("Controls", nullptr,
               ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoResize | ImGuiWindowFlags_NoCollapse |
                   ImGuiWindowFlags_NoSavedSettings);
  auto& c = app.controls;
  bool moved = slider("throttle", c.throttle, 0, 1, 100, "%.0f %%");
  moved |= slider("choke or enrichment", c.choke, 0, 1, 100, "%.0f %%");
  moved |= slider("fuel tap", c.tap, 0, 1, 100, "%.0f %%");
  moved |= slider("altitude", c.altitude, 0, 3000, 1, "%.0f m");
  int load = static_cast<int>(c.load);
  ImGui::TextUnformatted("load");
  ImGui::SetNextItemWidth(-1);
  if (ImGui::Combo("##load", &load, "speed held\0neutral\0in gear\0")) {
    c.load = static_cast<sim::LiveLoad>(load);
    moved = true;
  }
  if (c.load == sim::LiveLoad::held_speed)
    moved |= slider("held speed", c.speed, 60, 750, 30.0 / std::numbers::pi, "%.0f 1/min");
  bool starter = c.starter > 0.5;
  if (ImGui::Checkbox("starter", &starter)) {
    c.starter = starter ? 1.0 : 0.0;
    moved = true;
  }
  if (moved) app.send_controls();
  ImGui::Separator();
  if (ImGui::Button("Snap open (B)", {-1, 0})) run_command(app, sf::Keyboard::B, false);
  if (ImGui::Button(app.recording ? "Stop recording (R)" : "Record (R)", {-1, 0}))
    run_command(app, sf::Keyboard::R, false);
  if (ImGui::Button("Start anew", {-1, 0})) run_command(app, sf::Keyboard::BackSpace, true);
  for (const auto* live : app.live) {
    ImGui::TextWrapped("runs at %.3f of real time", live->achieved_rate());
    if (live->stalled()) ImGui::TextWrapped("The engine has stopped. Hold the starter and start anew.");
  }
  ImGui::End();
}

void draw_part_changes(App& app) {
  if (!app.show_changes || app.live.empty()) return;
  const ImVec2 size = ImGui::GetIO().DisplaySize;
  ImGui::SetNextWindowPos({size.x * 0.2F, size.y * 0.15F}, ImGuiCond_Appearing);
  ImGui::SetNextWindowSize({size.x * 0.45F, size.y * 0.72F}, ImGuiCond_Appearing);
  if (ImGui::Begin("Change parts while it runs", &app.show_changes, ImGuiWindowFlags_NoSavedSettings)) {
    // First, so that nobody has to scroll for it.
    ImGui::TextWrapped(
        "This is a model. On a real engine smaller jets, a lower needle or a lower float make the mixture "
        "leaner: it overheats "
        "and can seize. Fuel burns; the workshop manual and local emission rules come first.");
    ImGui::Separator();
    const auto& g = app.source().geometry();
    const auto send = [&](const char* key, const std::string& value) {
      for (auto* live : app.live) live->bench().set_key(key, value);
    };
    for (const auto& change : changes) {
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
    for (const auto& fault : faults) {
      ImGui::PushID(fault.key);
      if (ImGui::Button("break")) send(fault.key, fmt::format("\"{}\"", fault.bad));
      ImGui::SameLine();
      if (ImGui::Button("mend")) send(fault.key, fmt::format("\"{}\"", fault.good));
      ImGui::SameLine();
      ImGui::TextUnformatted(fault.name);
      ImGui::PopID();
    }
    ImGui::Separator();
    static std::string key = "carburetor.main.jet.bore", value = "\"1.60 mm\"";
    ImGui::InputText("key", &key);
    ImGui::InputText("value", &value);
    if (ImGui::Button("set")) send(key.c_str(), value);
  }
  ImGui::End();
}

}  // namespace glassbowl::viz
