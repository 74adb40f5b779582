#include <fmt/format.h>
#include <imgui.h>
#include <imgui_stdlib.h>
#include <SFML/Window/Keyboard.hpp>

#include <cmath>
#include <numbers>

#include "viz/panels/app.hpp"

namespace glassbowl::viz {
namespace {

/// A control of the bike whose values are shown; moving it moves that value on every bike in reach.
template <class Member>
void slider(App& app, std::size_t bike, const char* name, Member member, double low, double high,
            double factor, const char* format) {
  auto shown = static_cast<float>(app.settings[bike].controls.*member * factor);
  ImGui::TextUnformatted(name);
  ImGui::SetNextItemWidth(-1);
  ImGui::PushID(name);
  const bool moved = ImGui::SliderFloat("##value", &shown, static_cast<float>(low * factor),
                                        static_cast<float>(high * factor), format);
  ImGui::PopID();
  if (ImGui::IsItemHovered()) ImGui::SetTooltip("drag, or Ctrl and click to type a value; undo with Ctrl+Z");
  if (moved) app.adjust(name, [=](sim::LiveControls& c) { c.*member = static_cast<double>(shown) / factor; });
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

/// "1.72 mm", beside it what the case says where that differs.
std::string value_text(const PartChange& part, const LiveSource& live) {
  const double now = part.shown(live.geometry()), first = part.shown(live.bench().geometry());
  std::string text = fmt::format("{:.2f}", now);
  if (std::abs(now - first) > 1e-6) text += fmt::format(" (case {:.2f})", first);
  return text;
}

/// What differs from the case, and the ways back.
void draw_changes_made(App& app) {
  std::size_t count = 0;
  for (const auto* live : app.live) count += live->changes().size();
  const auto* back = app.undo.next_back();
  const auto* again = app.undo.next_again();
  const float half = 0.5F * (ImGui::GetContentRegionAvail().x - ImGui::GetStyle().ItemSpacing.x);
  if (ImGui::Button("Undo", {half, 0})) app.undo_change();
  if (ImGui::IsItemHovered()) ImGui::SetTooltip("%s (Ctrl+Z)", back ? back->what.c_str() : "nothing to undo");
  ImGui::SameLine();
  if (ImGui::Button("Redo", {half, 0})) app.redo_change();
  if (ImGui::IsItemHovered())
    ImGui::SetTooltip("%s (Ctrl+Y)", again ? again->what.c_str() : "nothing to redo");
  if (ImGui::Button("Restart", {-1, 0})) app.restart(sim::LiveRestart::keep_changes);
  if (ImGui::IsItemHovered())
    ImGui::SetTooltip("%s (Shift+Backspace)",
                      count > 0 ? "from time 0; changed parts and faults are kept" : "from time 0");
  if (count > 0 && ImGui::Button("Restart as in the case", {-1, 0}))
    app.restart(sim::LiveRestart::as_in_case);
  if (count > 0 && ImGui::IsItemHovered())
    ImGui::SetTooltip("from time 0, parts and faults as in the case (Ctrl+Backspace)");
  // Below the buttons, which must not move away from under a hand.
  if (count > 0) {
    ImGui::PushStyleColor(ImGuiCol_Text, ImGui::GetStyleColorVec4(ImGuiCol_PlotHistogramHovered));
    ImGui::TextWrapped("MODIFIED: %zu %s from the case", count,
                       count == 1 ? "value differs" : "values differ");
    ImGui::PopStyleColor();
    for (std::size_t i = 0; i < app.live.size(); ++i)
      for (const auto& [key, value] : app.live[i]->changes())
        ImGui::TextWrapped("%s%s %s",
                           app.live.size() == 1 ? ""
                           : i == 0             ? "left: "
                                                : "right: ",
                           name_of_key(key).c_str(), value.c_str());
  }
}

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
  int load = static_cast<int>(app.settings[bike].controls.load);
  ImGui::TextUnformatted("load");
  ImGui::SetNextItemWidth(-1);
  if (ImGui::Combo("##load", &load, "speed held\0neutral\0in gear\0"))
    app.adjust("load", [load](C& c) { c.load = static_cast<sim::LiveLoad>(load); });
  if (app.settings[bike].controls.load == sim::LiveLoad::held_speed)
    slider(app, bike, "held speed", &C::speed, 60, 750, 30.0 / std::numbers::pi, "%.0f rpm");
  bool starter = app.settings[bike].controls.starter > 0.5;
  if (ImGui::Checkbox("starter", &starter))
    app.adjust("starter", [starter](C& c) { c.starter = starter ? 1.0 : 0.0; });
  ImGui::Separator();
  if (ImGui::Button("Snap open (B)", {-1, 0})) run_command(app, sf::Keyboard::B);
  if (ImGui::IsItemHovered())
    ImGui::SetTooltip("opens the throttle to 60 %% for 0.8 s and measures the blip lag");
  if (ImGui::Button("Change parts (C)", {-1, 0})) run_command(app, sf::Keyboard::C);
  if (ImGui::IsItemHovered())
    ImGui::SetTooltip("jets, needle, float level and faults, while the engine runs");
  if (ImGui::Button(app.recording() ? "Stop recording (R)" : "Record (R)", {-1, 0}))
    run_command(app, sf::Keyboard::R);
  if (ImGui::IsItemHovered()) ImGui::SetTooltip("writes a trace that can be replayed, compared and exported");
  draw_changes_made(app);
  ImGui::Separator();
  for (std::size_t i = 0; i < app.live.size(); ++i) {
    const auto* live = app.live[i];
    if (app.live.size() > 1) ImGui::TextDisabled(i == 0 ? "Left" : "Right");
    ImGui::TextWrapped("%.3f of real time", live->achieved_rate());
    if (live->stalled())
      ImGui::TextWrapped(live->changes().empty()
                             ? "Engine stalled. Restart (Shift+Backspace)."
                             : "Engine stalled with changed parts or faults. Restart as in the case "
                               "(Ctrl+Backspace), or undo (Ctrl+Z) and restart.");
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
  const auto fitted = [&](const auto& entry) {
    for (std::size_t i = 0; i < app.live.size(); ++i)
      if (app.reaches(i) && entry.fitted(app.live[i]->geometry())) return true;
    return false;
  };
  for (const auto& part : part_changes()) {
    if (!fitted(part)) continue;
    ImGui::PushID(part.key);
    if (ImGui::Button(" - ")) app.step_part(part, -1);
    ImGui::SameLine();
    if (ImGui::Button(" + ")) app.step_part(part, 1);
    ImGui::SameLine();
    std::string text;
    bool changed = false;
    for (std::size_t i = 0; i < app.live.size(); ++i) {
      if (!app.reaches(i)) continue;
      const bool has = part.fitted(app.live[i]->geometry());
      text += (text.empty() ? "" : "  |  ") + (has ? value_text(part, *app.live[i]) : std::string("none"));
      changed = changed || app.settings[i].changes.contains(part.key);
    }
    ImGui::Text("%s: %s %s", part.name, text.c_str(), part.unit);
    if (changed) {
      ImGui::SameLine();
      if (ImGui::SmallButton("as in the case")) app.set_part(part.key, "");
    }
    ImGui::PopID();
  }
  ImGui::Separator();
  ImGui::TextDisabled("Faults");
  for (const auto& fault : part_faults()) {
    if (!fitted(fault)) continue;
    bool set = false;
    for (std::size_t i = 0; i < app.live.size(); ++i)
      set = set || (app.reaches(i) && app.settings[i].changes.contains(fault.key));
    if (ImGui::Checkbox(fault.name, &set))
      app.set_part(fault.key, set ? fmt::format("\"{}\"", fault.bad) : std::string());
  }
  ImGui::Separator();
  static std::string key = "carburetor.main.jet.bore", value = "\"1.60 mm\"";
  ImGui::TextDisabled("Any other key of the case");
  ImGui::InputText("key", &key);
  ImGui::InputText("value", &value);
  if (ImGui::Button("Set")) app.set_part(key, value);
  ImGui::End();
}

}  // namespace glassbowl::viz
