#include "viz/start/start_page.hpp"

#include <imgui.h>

#include <algorithm>

#include "viz/lessons/folder.hpp"
#include "viz/start/recent.hpp"

namespace glassbowl::viz {
namespace {

namespace fs = std::filesystem;

float unit() {
  return ImGui::GetFontSize() / 13.5F;
}

/// A card: a name with a line about it, framed while it is the chosen one.
bool card(const char* id, const std::string& name, const std::string& text, bool chosen) {
  const float u = unit(), width = ImGui::GetContentRegionAvail().x;
  const float wrap = width - 22 * u;
  const ImVec2 size = ImGui::CalcTextSize(text.c_str(), nullptr, false, wrap);
  const float height = (text.empty() ? 0.0F : size.y) + ImGui::GetFontSize() + 14 * u;
  ImGui::PushID(id);
  if (chosen) ImGui::PushStyleColor(ImGuiCol_Button, ImGui::GetStyleColorVec4(ImGuiCol_ButtonActive));
  const ImVec2 at = ImGui::GetCursorScreenPos();
  const bool pressed = ImGui::Button("##card", {width, height});
  if (chosen) ImGui::PopStyleColor();
  auto* list = ImGui::GetWindowDrawList();
  list->AddText({at.x + 10 * u, at.y + 6 * u}, ImGui::GetColorU32(ImGuiCol_Text), name.c_str());
  list->AddText(ImGui::GetFont(), ImGui::GetFontSize(), {at.x + 10 * u, at.y + 8 * u + ImGui::GetFontSize()},
                ImGui::GetColorU32(chosen ? ImGuiCol_Text : ImGuiCol_TextDisabled), text.c_str(), nullptr,
                wrap);
  ImGui::PopID();
  return pressed;
}

void head(const char* text) {
  ImGui::SetWindowFontScale(1.25F);
  ImGui::TextUnformatted(text);
  ImGui::SetWindowFontScale(1.0F);
  ImGui::Dummy({1, 2 * unit()});
}

/// "mule_750" as one reads it.
std::string plain(std::string name) {
  if (const auto slash = name.find('/'); slash != std::string::npos) name = name.substr(slash + 1);
  std::replace(name.begin(), name.end(), '_', ' ');
  return name;
}

/// Its bike is chosen apart, so rides that differ by it alone are listed once.
bool own_ride(const std::vector<sim::ShippedCase>& all, const sim::ShippedCase& ride) {
  constexpr std::string_view other = "_piston";
  if (!ride.name.ends_with(other)) return true;
  const std::string base = ride.name.substr(0, ride.name.size() - other.size());
  return std::none_of(all.begin(), all.end(), [&](const auto& r) { return r.name == base; });
}

}  // namespace

StartPage::StartPage() : bikes_(sim::shipped_bikes()), recent_(recent_files()), folder_(fs::current_path()) {
  const auto all = sim::shipped_rides();
  std::copy_if(all.begin(), all.end(), std::back_inserter(rides_),
               [&](const auto& each) { return own_ride(all, each); });
  for (std::size_t i = 0; i < rides_.size(); ++i)
    if (rides_[i].name == "warm_idle") ride = i;
  for (std::size_t i = 0; i < bikes_.size(); ++i)
    if (bikes_[i].name == "bikes/mule_750") bike = i;
  std::vector<std::string> problems;
  lessons_ = read_lessons(lesson_folder(), problems);
  if (!problems.empty()) problem_ = problems.front();
}

Choice StartPage::choice_of(const fs::path& file) {
  Choice choice;
  (sim::is_trace_file(file) || file.extension() == ".partial" ? choice.trace : choice.live) = file.string();
  return choice;
}

void StartPage::draw_bikes() {
  head("1  Bike");
  for (std::size_t i = 0; i < bikes_.size(); ++i)
    if (card(bikes_[i].name.c_str(), plain(bikes_[i].name), bikes_[i].title, i == bike)) bike = i;
}

void StartPage::draw_rides(std::optional<Choice>& choice) {
  head("2  Ride");
  const float buttons = 2.2F * ImGui::GetFrameHeightWithSpacing();
  ImGui::BeginChild("rides", {0, -buttons - 10 * unit()});
  for (std::size_t i = 0; i < rides_.size(); ++i)
    if (card(rides_[i].name.c_str(), plain(rides_[i].name), rides_[i].title, i == ride)) ride = i;
  ImGui::EndChild();
  if (bikes_.empty() || rides_.empty()) return;
  ImGui::PushStyleColor(ImGuiCol_Button, ImGui::GetStyleColorVec4(ImGuiCol_ButtonActive));
  if (ImGui::Button("3  Start the engine (Enter)", {-1, 1.6F * ImGui::GetFrameHeight()}) ||
      (ImGui::IsKeyPressed(ImGui::GetKeyIndex(ImGuiKey_Enter)) && !ImGui::IsAnyItemFocused()))
    choice = Choice{.trace = {},
                    .live = rides_[ride].name + "+" + bikes_[bike].name.substr(6),
                    .beside = {},
                    .sets = {},
                    .lesson = {}};
  ImGui::PopStyleColor();
  ImGui::TextDisabled("runs live: throttle, jets and faults in your hands");
}

void StartPage::draw_lessons(std::optional<Choice>& choice) {
  head("Or a lesson");
  for (const auto& lesson : lessons_)
    if (card(lesson.title.c_str(), lesson.title, "", false)) {
      choice.emplace();
      choice->lesson = lesson;
    }
}

void StartPage::draw_files(std::optional<Choice>& choice) {
  head("Or your own file");
  if (ImGui::Button(browsing_ ? "Close the list" : "Open a file ...", {-1, 0})) browsing_ = !browsing_;
  ImGui::TextDisabled("a trace (.h5) or a case (.toml), or drop one here");
  std::error_code ignored;
  if (browsing_) {
    ImGui::TextWrapped("%s", folder_.c_str());
    ImGui::BeginChild("files", {0, 200 * unit()}, true);
    if (folder_.has_parent_path() && ImGui::Selectable("..  (folder above)")) folder_ = folder_.parent_path();
    std::vector<fs::path> folders, files;
    for (const auto& entry :
         fs::directory_iterator(folder_, fs::directory_options::skip_permission_denied, ignored)) {
      const fs::path& path = entry.path();
      if (path.filename().string().starts_with(".")) continue;
      if (entry.is_directory(ignored)) folders.push_back(path);
      const std::string ending = path.extension().string();
      if (ending == ".h5" || ending == ".toml" || ending == ".partial") files.push_back(path);
    }
    std::sort(folders.begin(), folders.end());
    std::sort(files.begin(), files.end());
    for (const auto& path : folders)
      if (ImGui::Selectable((path.filename().string() + "/").c_str())) folder_ = path;
    for (const auto& path : files)
      if (ImGui::Selectable(path.filename().c_str())) choice = choice_of(path);
    ImGui::EndChild();
  }
  if (recent_.empty()) return;
  ImGui::TextUnformatted("Last opened");
  for (const auto& name : recent_) {
    if (ImGui::Selectable(fs::path(name).filename().c_str())) choice = choice_of(name);
    if (ImGui::IsItemHovered()) ImGui::SetTooltip("%s", name.c_str());
  }
}

std::optional<Choice> StartPage::draw(bool& dark, bool& quit) {
  std::optional<Choice> choice;
  const ImVec2 size = ImGui::GetIO().DisplaySize;
  const float u = unit();
  ImGui::SetNextWindowPos({0, 0});
  ImGui::SetNextWindowSize(size);
  ImGui::Begin("start", nullptr,
               ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoSavedSettings |
                   ImGuiWindowFlags_NoBringToFrontOnFocus);
  if (ImGui::IsWindowAppearing()) ImGui::SetWindowFocus();
  ImGui::SetWindowFontScale(1.7F);
  ImGui::TextUnformatted("glassbowl");
  ImGui::SetWindowFontScale(1.0F);
  ImGui::SameLine();
  ImGui::SetCursorPosY(ImGui::GetCursorPosY() + 9 * u);
  ImGui::TextDisabled("   what happens inside a carburetor, computed and drawn to scale");
  ImGui::SameLine(size.x - 150 * u);
  if (ImGui::Button(dark ? "Light" : "Dark")) dark = !dark;
  ImGui::SameLine();
  if (ImGui::Button("Quit")) quit = true;
  if (!problem_.empty()) {
    ImGui::PushStyleColor(ImGuiCol_Text, ImGui::GetStyleColorVec4(ImGuiCol_PlotHistogramHovered));
    ImGui::TextWrapped("%s", problem_.c_str());
    ImGui::PopStyleColor();
  }
  ImGui::Separator();
  const float foot = 2.6F * ImGui::GetTextLineHeightWithSpacing();
  const float height = size.y - ImGui::GetCursorPosY() - foot;
  const float column = (size.x - 48 * u) / 3.0F;
  ImGui::BeginChild("bikes", {0.8F * column, height});
  draw_bikes();
  ImGui::EndChild();
  ImGui::SameLine(0, 14 * u);
  ImGui::BeginChild("ride", {1.2F * column, height});
  draw_rides(choice);
  ImGui::EndChild();
  ImGui::SameLine(0, 14 * u);
  ImGui::BeginChild("others", {0, height});
  draw_lessons(choice);
  ImGui::Dummy({1, 8 * u});
  draw_files(choice);
  ImGui::EndChild();
  ImGui::Separator();
  ImGui::TextWrapped(
      "A model, not a measurement: before you change a jet, the workshop manual and local rules decide. "
      "Petrol burns, "
      "and a lean engine can seize. All bikes here are invented.");
  ImGui::End();
  return choice;
}

}  // namespace glassbowl::viz
