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
  choice("Lessons", app.show_lessons, clicked);
  if (clicked) app.show_lessons = !app.show_lessons;
  choice("Channels", app.show_channels, clicked);
  if (clicked) app.show_channels = !app.show_channels;
  if (!app.live.empty()) {
    choice("Change parts", app.show_changes, clicked);
    if (clicked) app.show_changes = !app.show_changes;
  }
  ImGui::Checkbox("strips", &view.show_strips);
  ImGui::SameLine();
  ImGui::Checkbox("names", &view.look.labels);
  ImGui::SameLine();
  choice(view.dark ? "Light" : "Dark", false, clicked);
  if (clicked) view.dark = !view.dark;
  choice("Picture", false, clicked);
  if (clicked) app.want_picture = true;
  choice("Keys (F1)", app.show_keys, clicked);
  if (clicked) app.show_keys = !app.show_keys;
  if (app.message_age < 8.0) ImGui::TextUnformatted(app.message.c_str());
  ImGui::End();
}

}  // namespace glassbowl::viz
