#include <imgui.h>
#include <spawn.h>
#include <unistd.h>
#include <SFML/Window/Keyboard.hpp>

#include <array>
#include <string>

#include "viz/panels/app.hpp"

extern char** environ;

namespace glassbowl::viz {
namespace {

constexpr ImGuiWindowFlags bar = ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoMove |
                                 ImGuiWindowFlags_NoSavedSettings | ImGuiWindowFlags_NoBringToFrontOnFocus;

void tip(const char* text) {
  if (ImGui::IsItemHovered()) ImGui::SetTooltip("%s", text);
}

void choice(const char* text, bool on, bool& clicked, const char* hint) {
  if (on) ImGui::PushStyleColor(ImGuiCol_Button, ImGui::GetStyleColorVec4(ImGuiCol_ButtonActive));
  clicked = ImGui::Button(text);
  if (on) ImGui::PopStyleColor();
  tip(hint);
  ImGui::SameLine();
}

/// Opens the folder of a file in the desktop's file manager.
void show_folder(const std::filesystem::path& file) {
  std::string program = "xdg-open", folder = file.parent_path().string();
  std::array<char*, 3> call{program.data(), folder.data(), nullptr};
  pid_t child = 0;
  posix_spawnp(&child, "xdg-open", nullptr, nullptr, call.data(), environ);
}

}  // namespace

void draw_tool_bar(App& app, float height) {
  ImGui::SetNextWindowPos({0, 0});
  ImGui::SetNextWindowSize({ImGui::GetIO().DisplaySize.x, height});
  ImGui::Begin("tools", nullptr, bar);
  bool clicked = false;
  View& view = app.view;
  choice("Start page", false, clicked, "choose another bike, ride, lesson or file (Ctrl+O)");
  if (clicked) app.want_start = true;
  choice("Cutaway", view.mode == Mode::cutaway, clicked, "carburetor and engine in section (1)");
  if (clicked) view.mode = Mode::cutaway;
  choice("Overlap", view.mode == Mode::overlap, clicked,
         "which circuit feeds the engine at which throttle (2)");
  if (clicked) view.mode = Mode::overlap;
  if (view.mode == Mode::overlap) {
    ImGui::Checkbox("small openings", &view.enlarge_overlap);
    tip("only the first fifth of the throttle (E)");
    ImGui::SameLine();
  }
  if (view.second() != nullptr) {
    choice("Side by side", view.mode == Mode::beside, clicked, "two runs beside one another (3)");
    if (clicked) view.mode = Mode::beside;
    if (view.mode == Mode::beside) {
      ImGui::Checkbox("same crank angle", &view.align_crank);
      tip("the second run at the crank angle of the first, not at its time (Y)");
      ImGui::SameLine();
    }
  }
  const auto panel = [&](const char* name, Panel which, const char* hint) {
    choice(name, app.panel == which, clicked, hint);
    if (clicked) app.toggle(which);
  };
  panel("Lessons", Panel::lessons, "guided tours with a question each (G)");
  panel("Channels", Panel::channels, "which quantities the graphs show (A)");
  ImGui::Checkbox("graphs", &view.show_strips);
  tip("graphs over time (T)");
  ImGui::SameLine();
  ImGui::Checkbox("names", &view.look.labels);
  tip("names of the parts (N)");
  ImGui::SameLine();
  ImGui::Checkbox("large type", &view.large_type);
  tip("for a projector (Z)");
  ImGui::SameLine();
  choice(view.dark ? "Light" : "Dark", false, clicked, "the other ground (D)");
  if (clicked) view.dark = !view.dark;
  choice("Picture", false, clicked, "save a picture of this view (P)");
  if (clicked) app.want_picture = true;
  panel("Export", Panel::exporting, "save a span as video, as a page for browsers or as sound (X)");
  panel("Keys", Panel::keys, "list of all keys (F1)");
  ImGui::End();
}

void draw_lesson_buttons(App& app) {
  LessonRun* lesson = app.view.lesson();
  const Box& box = app.view.lesson_box();
  if (lesson == nullptr || box.w <= 0) return;
  ImGui::SetNextWindowPos({box.right() - 6, box.y + 0.5F * box.h}, ImGuiCond_Always, {1.0F, 0.5F});
  ImGui::Begin("lesson", nullptr, bar | ImGuiWindowFlags_AlwaysAutoResize | ImGuiWindowFlags_NoBackground);
  const float width = 8.0F * ImGui::GetFontSize();
  const bool question = lesson->at_question();
  ImGui::ProgressBar(
      static_cast<float>(lesson->step() + 1) / static_cast<float>(lesson->lesson().steps.size() + 1),
      {width, 0.5F * ImGui::GetFontSize()}, "");
  const char* next = !question ? (lesson->step() + 1 == lesson->lesson().steps.size() ? "Question" : "Next")
                     : lesson->answered() ? "Finish"
                                          : "Answer";
  if (ImGui::Button(next, {width, 0})) {
    if (question && lesson->answered())
      app.view.set_lesson(nullptr);
    else
      run_command(app, sf::Keyboard::Enter);
  }
  tip("Enter");
  if (app.view.lesson() != nullptr) {
    if (ImGui::Button("Back", {0.5F * width - 3, 0})) run_command(app, sf::Keyboard::BackSpace);
    tip("Backspace");
    ImGui::SameLine(0, 6);
    if (ImGui::Button("Leave", {0.5F * width - 3, 0})) app.view.set_lesson(nullptr);
    tip("Escape");
  }
  ImGui::End();
}

void draw_message(App& app, float above) {
  if (app.message_age > (app.message_file.empty() ? 8.0 : 25.0) || app.message.empty()) return;
  const ImVec2 size = ImGui::GetIO().DisplaySize;
  ImGui::SetNextWindowPos({0.5F * size.x, size.y - above - 8}, ImGuiCond_Always, {0.5F, 1.0F});
  ImGui::SetNextWindowSizeConstraints({0, 0}, {0.7F * size.x, 0.5F * size.y});
  ImGui::Begin("message", nullptr,
               bar | ImGuiWindowFlags_AlwaysAutoResize |
                   (app.message_file.empty() ? ImGuiWindowFlags_NoInputs : 0) |
                   ImGuiWindowFlags_NoFocusOnAppearing | ImGuiWindowFlags_Tooltip);  // above all panels
  ImGui::PushTextWrapPos(0.68F * size.x);
  ImGui::TextUnformatted(app.message.c_str());
  ImGui::PopTextWrapPos();
  if (!app.message_file.empty()) {
    if (ImGui::Button("Show its folder")) show_folder(app.message_file);
    ImGui::SameLine();
    if (ImGui::Button("Close")) app.message_age = 1e9;
  }
  ImGui::End();
}

}  // namespace glassbowl::viz
