#include <fmt/format.h>
#include <imgui.h>
#include <imgui_stdlib.h>
#include <SFML/Window/Keyboard.hpp>

#include <algorithm>
#include <array>
#include <cctype>
#include <map>
#include <tuple>

#include "sim/api/error.hpp"
#include "viz/page/page.hpp"
#include "viz/panels/app.hpp"
#include "viz/sound/wave_file.hpp"

namespace glassbowl::viz {
namespace {

constexpr ImGuiWindowFlags panel_flags =
    ImGuiWindowFlags_NoSavedSettings | ImGuiWindowFlags_NoCollapse | ImGuiWindowFlags_AlwaysAutoResize;

float unit() {
  return ImGui::GetFontSize() / 13.5F;
}

bool begin_panel(App& app, Panel which, const char* title, float width, float from_right = -1) {
  if (app.panel != which) return false;
  place_panel(width, from_right);
  bool open = true;
  ImGui::Begin(title, &open, panel_flags);
  if (ImGui::IsWindowAppearing()) ImGui::SetWindowFocus();
  if (!open) app.panel = Panel::none;
  return true;
}

void draw_group(const App& app, const CommandGroup& group) {
  ImGui::TextDisabled("%s", group.name);
  for (const auto& command : group.commands) {
    if (app.live.empty() ? command.live_only : command.replay_only) continue;
    ImGui::TextUnformatted(command.key_name);
    ImGui::SameLine(118 * unit());
    ImGui::TextUnformatted(command.text);
  }
  ImGui::Dummy({1, 4 * unit()});
}

}  // namespace

void place_panel(float width, float from_right) {
  const ImVec2 size = ImGui::GetIO().DisplaySize;
  const float u = unit(), top = 42 * u, wide = std::min(width * u, size.x - 16 * u);
  const bool aside = from_right >= 0;
  ImGui::SetNextWindowPos({aside ? size.x - from_right * u : 0.5F * size.x, top}, ImGuiCond_Appearing,
                          {aside ? 1.0F : 0.5F, 0.0F});
  ImGui::SetNextWindowSizeConstraints({wide, 60 * u}, {wide, size.y - top - 46 * u});
}

void draw_key_list(App& app) {
  if (!begin_panel(app, Panel::keys, "Keys", 860)) return;
  if (ImGui::BeginTable("keys", 2, ImGuiTableFlags_SizingStretchSame)) {
    const auto& groups = command_groups();
    ImGui::TableNextColumn();
    for (const auto& group : groups) {
      const std::string name = group.name;
      if (name == "Live bench" && app.live.empty()) continue;
      if (name == (app.live.empty() ? "View" : "Live bench")) ImGui::TableNextColumn();
      draw_group(app, group);
    }
    ImGui::EndTable();
  }
  ImGui::Separator();
  ImGui::TextWrapped(
      "Mouse: point at a part to read about it; wheel over the drawing to zoom; wheel over the graphs "
      "to zoom, drag in them to set the time. Drag the enlarged drawing to move it.");
  ImGui::End();
}

/// Lower case, so that a search finds either.
std::string lowered(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return text;
}

void draw_channel_list(App& app) {
  if (!begin_panel(app, Panel::channels, "Channels in the graphs", 560, 8)) return;
  auto& strips = app.view.first().strips.list();
  for (std::size_t i = 0; i < strips.size(); ++i) {
    ImGui::PushID(static_cast<int>(i));
    const bool remove = ImGui::SmallButton("remove");
    ImGui::SameLine();
    ImGui::TextUnformatted(strips[i].name.c_str());
    ImGui::PopID();
    if (remove && strips.size() > 1) strips.erase(strips.begin() + static_cast<std::ptrdiff_t>(i));
  }
  if (ImGui::Button("the usual ones")) strips = usual_strips(app.source(), app.view.first().signals);
  ImGui::Separator();
  ImGui::SetNextItemWidth(-1);
  ImGui::InputTextWithHint("##filter", "search: part of a name, such as pressure", &app.channel_filter);
  ImGui::BeginChild("all", {0, 300 * unit()});
  struct Entry {
    int channel;
    bool per_cycle;
    const sim::Channel* what;
  };
  std::map<std::string, std::vector<Entry>> parts;
  const std::string wanted = lowered(app.channel_filter);
  for (const bool per_cycle : {false, true}) {
    const auto& channels = per_cycle ? app.source().cycle_channels() : app.source().channels();
    for (std::size_t i = 0; i < channels.size(); ++i)
      if (lowered(channels[i].name + " " + channels[i].long_name + " " + channels[i].part).find(wanted) !=
          std::string::npos)
        parts[channels[i].part].push_back({static_cast<int>(i), per_cycle, &channels[i]});
  }
  for (const auto& [part, entries] : parts) {
    std::string name = part;
    std::replace(name.begin(), name.end(), '_', ' ');
    ImGui::SetNextItemOpen(!wanted.empty(), wanted.empty() ? ImGuiCond_Once : ImGuiCond_Always);
    if (!ImGui::TreeNode(part.c_str(), "%s (%zu)", name.c_str(), entries.size())) continue;
    for (const auto& entry : entries) {
      ImGui::PushID(entry.channel + (entry.per_cycle ? 100000 : 0));
      if (ImGui::SmallButton("add")) strips.push_back(strip_of(app.source(), entry.channel, entry.per_cycle));
      ImGui::SameLine();
      const std::string shown = shown_unit(entry.what->unit, 0.0).unit;
      ImGui::Text("%s%s", entry.what->long_name.c_str(), shown.empty() ? "" : (" [" + shown + "]").c_str());
      if (ImGui::IsItemHovered()) ImGui::SetTooltip("%s", entry.what->name.c_str());
      ImGui::PopID();
    }
    ImGui::TreePop();
  }
  if (parts.empty()) ImGui::TextDisabled("No channel has that in its name.");
  ImGui::EndChild();
  ImGui::End();
}

void draw_lesson_list(App& app) {
  if (!begin_panel(app, Panel::lessons, "Lessons", 760)) return;
  ImGui::TextWrapped(
      "Each is a tour of a run, shorter than three minutes, with a question at its end. Where the run that "
      "is open "
      "does not fit, the lesson computes its own. Enter: next. Z: large type.");
  ImGui::Dummy({1, 4 * unit()});
  for (const auto& lesson : app.lessons) {
    if (ImGui::Button(lesson.title.c_str(), {260 * unit(), 0})) {
      app.begin_lesson(lesson);
    }
    ImGui::SameLine();
    ImGui::TextDisabled("run: %s", lesson.case_name.c_str());
  }
  if (app.lessons.empty()) ImGui::TextUnformatted("No lessons were found.");
  ImGui::End();
}

/// What the export panel can make.
constexpr std::array<const char*, 4> endings{".mp4", ".gif", ".html", ".wav"};

/// Pages and sounds take less than a second: no job.
void export_at_once(App& app, const ExportPlan& plan) {
  std::error_code ignored;
  const auto file = std::filesystem::absolute(plan.target, ignored);
  try {
    if (plan.target.extension() == ".html") {
      write_page(app.source(), app.view.first().signals,
                 {.target = plan.target, .from = plan.from, .to = plan.to, .dark = app.view.dark});
      return app.say("Page saved: " + file.string(), file);
    }
    SoundPlan sound;
    sound.target = plan.target;
    sound.from = plan.from;
    sound.to = plan.to;
    sound.rate = plan.rate;
    const auto written = write_sound(app.source(), sound);
    app.say(fmt::format("Sound saved: {}\n{:.1f} dB re 20 µPa at {:.3g} m in free field", file.string(),
                        written.level, sound.distance),
            file);
  } catch (const sim::Error& error) {
    app.say(error.what());
  }
}

void draw_export(App& app) {
  if (app.panel != Panel::exporting) return;
  static bool chosen = false;
  static int kind = 0, size = 0;
  static std::string name;
  auto& plan = app.export_plan;
  if (!begin_panel(app, Panel::exporting, "Export a span", 480, 8)) return;
  if (app.job) {
    ImGui::TextWrapped("Drawing %s", app.job->target().c_str());
    ImGui::ProgressBar(static_cast<float>(app.job->done()));
    if (ImGui::Button("Stop (Escape)")) run_command(app, sf::Keyboard::Escape);
    ImGui::End();
    return;
  }
  const auto& strips = app.view.first().strips;
  if (ImGui::IsWindowAppearing() || !chosen) {
    // What the graphs show is the span, so that zooming them chooses it.
    plan.from = std::max(0.0, std::max(strips.from(), app.source().first_time()));
    plan.to = std::min(strips.to(), app.source().last_time());
    plan.rate = app.view.playback.rate;
    name = free_name("glassbowl", endings.at(static_cast<std::size_t>(kind))).string();
    chosen = true;
  }
  double from = plan.from.value_or(0.0), to = plan.to.value_or(0.0), slow = 1.0 / plan.rate;
  ImGui::PushItemWidth(150 * unit());
  if (ImGui::InputDouble("from [s]", &from, 0.01, 0.1, "%.4f")) plan.from = from;
  if (ImGui::InputDouble("to [s]", &to, 0.01, 0.1, "%.4f")) plan.to = to;
  if (ImGui::InputDouble("times slower than real time", &slow, 1.0, 10.0, "%.0f"))
    plan.rate = 1.0 / std::clamp(slow, 1.0, 2000.0);
  if (ImGui::Combo("kind", &kind,
                   "video (MP4)\0animated picture (GIF)\0page for any browser (HTML)\0sound (WAV)\0")) {
    if (kind == 3) plan.rate = 1.0;  // else it is too deep to hear
    name = free_name("glassbowl", endings.at(static_cast<std::size_t>(kind))).string();
  }
  if (kind < 2)
    ImGui::Combo("size", &size,
                 "1280 x 720\0"
                 "1920 x 1080\0"
                 "2560 x 1440\0"
                 "640 x 360\0");
  ImGui::PopItemWidth();
  ImGui::SetNextItemWidth(-60 * unit());
  ImGui::InputText("file", &name);
  constexpr std::array<std::pair<unsigned, unsigned>, 4> sizes{
      {{1280, 720}, {1920, 1080}, {2560, 1440}, {640, 360}}};
  std::tie(plan.width, plan.height) = sizes.at(static_cast<std::size_t>(size));
  if (kind != 2) ImGui::Text("%.1f s long", std::max(0.0, to - from) / plan.rate);
  if (ImGui::Button("Export")) {
    plan.target = name;
    kind < 2 ? app.start_export() : export_at_once(app, plan);
  }
  ImGui::End();
}

}  // namespace glassbowl::viz
