#include <fmt/format.h>
#include <imgui.h>
#include <imgui_stdlib.h>

#include <algorithm>

#include "sim/api/error.hpp"
#include "viz/panels/app.hpp"

namespace glassbowl::viz {
namespace {

void place_window(float share_x, float share_y, float width, float height) {
  const ImVec2 size = ImGui::GetIO().DisplaySize;
  ImGui::SetNextWindowPos({size.x * share_x, size.y * share_y}, ImGuiCond_Appearing, {share_x, share_y});
  ImGui::SetNextWindowSize({size.x * width, size.y * height}, ImGuiCond_Appearing);
}

}  // namespace

void draw_key_list(App& app) {
  if (!app.show_keys) return;
  place_window(0.5F, 0.5F, 0.62F, 0.84F);
  if (ImGui::Begin("Keys", &app.show_keys, ImGuiWindowFlags_NoSavedSettings) &&
      ImGui::BeginTable("keys", 4, ImGuiTableFlags_RowBg)) {
    const float width = ImGui::GetContentRegionAvail().x;
    for (const float share : {0.15F, 0.35F, 0.15F, 0.35F})
      ImGui::TableSetupColumn("", ImGuiTableColumnFlags_WidthFixed, share * width);
    for (const auto& command : commands()) {
      if (app.live.empty() ? command.live_only : command.replay_only) continue;
      ImGui::TableNextColumn();
      ImGui::TextUnformatted(command.key_name);
      ImGui::TableNextColumn();
      ImGui::TextWrapped("%s", command.text);
    }
    ImGui::EndTable();
    ImGui::Separator();
    ImGui::TextWrapped(
        "Mouse: point at a part to read about it; wheel over the drawing to look closer; wheel over the "
        "strips to zoom, drag to set the time. "
        "Tab and the arrow keys walk through every control.");
  }
  ImGui::End();
}

void draw_channel_list(App& app) {
  if (!app.show_channels) return;
  place_window(1.0F, 0.12F, 0.40F, 0.80F);
  if (ImGui::Begin("Channels in the strips", &app.show_channels, ImGuiWindowFlags_NoSavedSettings)) {
    auto& strips = app.view.first().strips.list();
    for (std::size_t i = 0; i < strips.size(); ++i) {
      ImGui::PushID(static_cast<int>(i));
      if (ImGui::SmallButton("remove") && strips.size() > 1)
        strips.erase(strips.begin() + static_cast<std::ptrdiff_t>(i));
      else {
        ImGui::SameLine();
        ImGui::TextUnformatted(strips[i].name.c_str());
      }
      ImGui::PopID();
    }
    if (ImGui::Button("the usual ones")) strips = usual_strips(app.source(), app.view.first().signals);
    ImGui::Separator();
    ImGui::InputTextWithHint("##filter", "part of a name, such as pressure", &app.channel_filter);
    ImGui::BeginChild("all");
    for (const bool per_cycle : {false, true}) {
      const auto& channels = per_cycle ? app.source().cycle_channels() : app.source().channels();
      for (std::size_t i = 0; i < channels.size(); ++i) {
        const auto& c = channels[i];
        if (!app.channel_filter.empty() && c.name.find(app.channel_filter) == std::string::npos &&
            c.long_name.find(app.channel_filter) == std::string::npos)
          continue;
        ImGui::PushID(static_cast<int>(i) + (per_cycle ? 100000 : 0));
        if (ImGui::SmallButton("add"))
          strips.push_back(strip_of(app.source(), static_cast<int>(i), per_cycle));
        ImGui::SameLine();
        ImGui::Text("%s [%s]", c.name.c_str(), c.unit.c_str());
        if (ImGui::IsItemHovered()) ImGui::SetTooltip("%s", c.long_name.c_str());
        ImGui::PopID();
      }
    }
    ImGui::EndChild();
  }
  ImGui::End();
}

void draw_lesson_list(App& app) {
  if (!app.show_lessons) return;
  place_window(0.5F, 0.3F, 0.5F, 0.5F);
  if (ImGui::Begin("Lessons", &app.show_lessons, ImGuiWindowFlags_NoSavedSettings)) {
    ImGui::TextWrapped(
        "Each is a short tour of a run. Enter goes on; the question at its end is answered by the run that "
        "is open.");
    for (const auto& lesson : app.lessons) {
      if (ImGui::Button(lesson.title.c_str())) {
        try {
          app.view.set_lesson(std::make_unique<LessonRun>(lesson, app.source()));
          app.show_lessons = false;
        } catch (const sim::Error& error) {
          app.say(error.what());
        }
      }
      ImGui::SameLine();
      ImGui::TextDisabled("%s", lesson.run.c_str());
    }
    if (app.lessons.empty()) ImGui::TextUnformatted("No lessons were found.");
    if (app.message_age < 8.0) ImGui::TextWrapped("%s", app.message.c_str());
  }
  ImGui::End();
}

}  // namespace glassbowl::viz
