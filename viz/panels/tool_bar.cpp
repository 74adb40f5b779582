#include <imgui.h>

#include "viz/panels/app.hpp"

namespace glassbowl::viz {
namespace {

constexpr ImGuiWindowFlags bar = ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoMove |
                                 ImGuiWindowFlags_NoSavedSettings | ImGuiWindowFlags_NoBringToFrontOnFocus;

void choice(const char* text, bool on, bool& clicked) {
  if (on) ImGui::PushStyleColor(ImGuiCol_Button, ImGui::GetStyleColorVec4(ImGuiCol_ButtonActive));
  clicked = ImGui::Button(text);
  if (on) ImGui::PopStyleColor();
  ImGui::SameLine();
}

}  // namespace

void draw_tool_bar(App& app, float height) {
  ImGui::SetNextWindowPos({0, 0});
  ImGui::SetNextWindowSize({ImGui::GetIO().DisplaySize.x, height});
  ImGui::Begin("tools", nullptr, bar);
  bool clicked = false;
  View& view = app.view;
  choice("Cutaway", view.mode == Mode::cutaway, clicked);
  if (clicked) view.mode = Mode::cutaway;
  choice("Overlap", view.mode == Mode::overlap, clicked);
  if (clicked) view.mode = Mode::overlap;
  if (view.mode == Mode::overlap) {
    ImGui::Checkbox("small openings", &view.enlarge_overlap);
    ImGui::SameLine();
  }
  if (view.second() != nullptr) {
    choice("Side by side", view.mode == Mode::beside, clicked);
    if (clicked) view.mode = Mode::beside;
  }
  const auto panel = [&](const char* name, Panel which) {
    choice(name, app.panel == which, clicked);
    if (clicked) app.toggle(which);
  };
  panel("Lessons", Panel::lessons);
  panel("Channels", Panel::channels);
  ImGui::Checkbox("strips", &view.show_strips);
  ImGui::SameLine();
  ImGui::Checkbox("names", &view.look.labels);
  ImGui::SameLine();
  ImGui::Checkbox("large type", &view.large_type);
  ImGui::SameLine();
  choice(view.dark ? "Light" : "Dark", false, clicked);
  if (clicked) view.dark = !view.dark;
  choice("Picture", false, clicked);
  if (clicked) app.want_picture = true;
  panel("Export", Panel::exporting);
  panel("Keys (F1)", Panel::keys);
  ImGui::End();
}

void draw_message(App& app, float above) {
  if (app.message_age > 8.0 || app.message.empty()) return;
  const ImVec2 size = ImGui::GetIO().DisplaySize;
  ImGui::SetNextWindowPos({0.5F * size.x, size.y - above - 8}, ImGuiCond_Always, {0.5F, 1.0F});
  ImGui::SetNextWindowSizeConstraints({0, 0}, {0.7F * size.x, 0.5F * size.y});
  ImGui::Begin("message", nullptr,
               bar | ImGuiWindowFlags_AlwaysAutoResize | ImGuiWindowFlags_NoInputs |
                   ImGuiWindowFlags_NoFocusOnAppearing | ImGuiWindowFlags_Tooltip);  // above all panels
  ImGui::PushTextWrapPos(0.68F * size.x);
  ImGui::TextUnformatted(app.message.c_str());
  ImGui::PopTextWrapPos();
  ImGui::End();
}

}  // namespace glassbowl::viz
