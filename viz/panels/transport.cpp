#include <fmt/format.h>
#include <imgui.h>

#include <array>
#include <cmath>

#include "viz/panels/app.hpp"

namespace glassbowl::viz {
namespace {

constexpr ImGuiWindowFlags bar = ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoMove |
                                 ImGuiWindowFlags_NoSavedSettings | ImGuiWindowFlags_NoBringToFrontOnFocus;
constexpr double degree = 3.14159265358979323846 / 180.0;

bool button(const char* text, const char* hint) {
  const bool pressed = ImGui::Button(text);
  if (ImGui::IsItemHovered()) ImGui::SetTooltip("%s", hint);
  ImGui::SameLine();
  return pressed;
}

void replay_buttons(App& app) {
  Playback& p = app.view.playback;
  Source& source = app.source();
  if (button("-720°", "one engine cycle back (Shift+Left)")) p.step_cycles(-1, source);
  if (button("-1°", "one crank degree back (Left)")) p.step_angle(-degree, source);
  if (button("+1°", "one crank degree on (Right)")) p.step_angle(degree, source);
  if (button("+720°", "one engine cycle on (Shift+Right)")) p.step_cycles(1, source);
  ImGui::Checkbox("loop cycle", &p.loop_cycle);
  ImGui::SameLine();
}

}  // namespace

void draw_transport(App& app, float height) {
  const ImVec2 size = ImGui::GetIO().DisplaySize;
  ImGui::SetNextWindowPos({0, size.y - height});
  ImGui::SetNextWindowSize({size.x, height});
  ImGui::Begin("transport", nullptr, bar);
  Playback& p = app.view.playback;
  const bool playing = app.live.empty() ? p.playing : !app.live_paused;
  if (button(playing ? "Pause" : "Play ", "Space")) app.toggle_playing();
  if (app.live.empty()) replay_buttons(app);

  static constexpr std::array rates{1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001, 0.0005};
  ImGui::SetNextItemWidth(size.x * 0.09F);
  const std::string shown = p.rate >= 0.999 ? "real time" : fmt::format("1/{:.0f}", 1.0 / p.rate);
  if (ImGui::BeginCombo("##rate", shown.c_str())) {
    for (const double rate : rates) {
      const std::string text = rate >= 0.999 ? "real time" : fmt::format("1/{:.0f}", 1.0 / rate);
      if (ImGui::Selectable(text.c_str(), std::abs(rate - p.rate) < 1e-9)) app.set_rate(rate);
    }
    ImGui::EndCombo();
  }
  if (ImGui::IsItemHovered()) ImGui::SetTooltip("how fast simulated time passes (Up, Down)");
  ImGui::SameLine();
  ImGui::SetNextItemWidth(size.x * 0.11F);
  float volume = 100.0F * app.speaker.volume();
  if (ImGui::SliderFloat("##volume", &volume, 0.0F, 100.0F, volume < 0.5F ? "sound off" : "sound %.0f %%"))
    app.speaker.set_volume(volume / 100.0F);
  if (ImGui::IsItemHovered())
    ImGui::SetTooltip(
        "what exhaust and inlet sound like, computed from their mass flows; deeper in slow motion");
  ImGui::SameLine();
  Source& source = app.source();
  auto time = static_cast<float>(p.time);
  ImGui::SetNextItemWidth(-1);
  const bool scrubbed =
      !source.empty() && ImGui::SliderFloat("##time", &time, static_cast<float>(source.first_time()),
                                            static_cast<float>(source.last_time()), "%.4f s");
  if (scrubbed) {
    if (!app.live.empty() && !app.live_paused) app.toggle_playing();
    p.go_to(static_cast<double>(time), source);
  }
  ImGui::End();
}

}  // namespace glassbowl::viz
