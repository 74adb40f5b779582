#include "viz/imgui_sfml.hpp"

#include <imgui.h>

#include <backends/imgui_impl_opengl2.h>
#include <algorithm>
#include <cmath>

#include "viz/look/palette.hpp"

namespace glassbowl::viz {
namespace {

ImVec4 color(sf::Color c) {
  return {static_cast<float>(c.r) / 255.0F, static_cast<float>(c.g) / 255.0F,
          static_cast<float>(c.b) / 255.0F, static_cast<float>(c.a) / 255.0F};
}

void style(const Theme& theme, float scale) {
  ImGuiStyle& s = ImGui::GetStyle();
  s = ImGuiStyle();
  theme.dark ? ImGui::StyleColorsDark() : ImGui::StyleColorsLight();
  s.WindowRounding = 0;
  s.FrameRounding = 2;
  s.GrabRounding = 2;
  s.GrabMinSize = 12;
  s.WindowBorderSize = 1;
  s.FrameBorderSize = 0;
  s.ItemSpacing = {8, 5};
  s.FramePadding = {7, 3};
  s.ScaleAllSizes(scale);
  auto* c = s.Colors;
  c[ImGuiCol_WindowBg] = color(theme.panel);
  c[ImGuiCol_PopupBg] = color(theme.panel);
  c[ImGuiCol_Text] = color(theme.text);
  c[ImGuiCol_TextDisabled] = color(theme.faint);
  c[ImGuiCol_Border] = color(theme.edge);
  c[ImGuiCol_FrameBg] = color(mixed(theme.panel, theme.edge, 0.55F));
  c[ImGuiCol_FrameBgHovered] = color(theme.grid);
  c[ImGuiCol_FrameBgActive] = color(theme.edge);
  c[ImGuiCol_Button] = color(mixed(theme.panel, theme.edge, 0.7F));
  c[ImGuiCol_ButtonHovered] = color(theme.edge);
  c[ImGuiCol_ButtonActive] = color(mixed(theme.panel, theme.accent, theme.dark ? 0.45F : 0.35F));
  c[ImGuiCol_Header] = color(theme.grid);
  c[ImGuiCol_HeaderHovered] = color(theme.edge);
  c[ImGuiCol_HeaderActive] = color(theme.edge);
  c[ImGuiCol_SliderGrab] = c[ImGuiCol_CheckMark] = color(theme.accent);
  c[ImGuiCol_SliderGrabActive] = color(theme.text);
  c[ImGuiCol_NavHighlight] = c[ImGuiCol_PlotHistogram] = color(theme.accent);
  c[ImGuiCol_PlotHistogramHovered] = color(theme.danger);  // warnings in panels
  c[ImGuiCol_TitleBg] = c[ImGuiCol_TitleBgActive] = color(theme.grid);
}

}  // namespace

ImGuiSfml::ImGuiSfml(const std::filesystem::path& font) : font_(font) {
  ImGui::CreateContext();
  ImGuiIO& io = ImGui::GetIO();
  io.IniFilename = nullptr;
  io.BackendPlatformName = "glassbowl";
  const auto map = [&](ImGuiKey key, sf::Keyboard::Key from) { io.KeyMap[key] = from; };
  map(ImGuiKey_Tab, sf::Keyboard::Tab);
  map(ImGuiKey_LeftArrow, sf::Keyboard::Left);
  map(ImGuiKey_RightArrow, sf::Keyboard::Right);
  map(ImGuiKey_UpArrow, sf::Keyboard::Up);
  map(ImGuiKey_DownArrow, sf::Keyboard::Down);
  map(ImGuiKey_PageUp, sf::Keyboard::PageUp);
  map(ImGuiKey_PageDown, sf::Keyboard::PageDown);
  map(ImGuiKey_Home, sf::Keyboard::Home);
  map(ImGuiKey_End, sf::Keyboard::End);
  map(ImGuiKey_Delete, sf::Keyboard::Delete);
  map(ImGuiKey_Backspace, sf::Keyboard::BackSpace);
  map(ImGuiKey_Space, sf::Keyboard::Space);
  map(ImGuiKey_Enter, sf::Keyboard::Enter);
  map(ImGuiKey_Escape, sf::Keyboard::Escape);
  map(ImGuiKey_A, sf::Keyboard::A);
  map(ImGuiKey_C, sf::Keyboard::C);
  map(ImGuiKey_V, sf::Keyboard::V);
  map(ImGuiKey_X, sf::Keyboard::X);
  ImGui_ImplOpenGL2_Init();
}

ImGuiSfml::~ImGuiSfml() {
  ImGui_ImplOpenGL2_Shutdown();
  ImGui::DestroyContext();
}

void ImGuiSfml::set_scale(float scale) {
  scale_ = scale;
  ImGuiIO& io = ImGui::GetIO();
  io.Fonts->Clear();
  ImGui_ImplOpenGL2_DestroyFontsTexture();
  static const ImWchar ranges[]{0x20, 0xFF, 0x370, 0x3FF, 0x2010, 0x2030, 0x2190, 0x21FF, 0x25A0, 0x25FF, 0};
  ImFontConfig config;
  config.OversampleH = 2;
  if (io.Fonts->AddFontFromFileTTF(font_.c_str(), std::round(13.5F * scale), &config, ranges) == nullptr)
    io.Fonts->AddFontDefault();
  io.Fonts->Build();
  ImGui_ImplOpenGL2_CreateFontsTexture();
}

void ImGuiSfml::handle(const sf::Event& event) {
  ImGuiIO& io = ImGui::GetIO();
  switch (event.type) {
    case sf::Event::MouseMoved:
      io.MousePos = {static_cast<float>(event.mouseMove.x), static_cast<float>(event.mouseMove.y)};
      break;
    case sf::Event::MouseButtonPressed:
    case sf::Event::MouseButtonReleased:
      if (event.mouseButton.button < 3)
        io.MouseDown[event.mouseButton.button] = event.type == sf::Event::MouseButtonPressed;
      break;
    case sf::Event::MouseWheelScrolled:
      (event.mouseWheelScroll.wheel == sf::Mouse::VerticalWheel ? io.MouseWheel : io.MouseWheelH) +=
          event.mouseWheelScroll.delta;
      break;
    case sf::Event::KeyPressed:
    case sf::Event::KeyReleased:
      if (event.key.code >= 0 && event.key.code < sf::Keyboard::KeyCount)
        io.KeysDown[event.key.code] = event.type == sf::Event::KeyPressed;
      io.KeyCtrl = event.key.control;
      io.KeyShift = event.key.shift;
      io.KeyAlt = event.key.alt;
      break;
    case sf::Event::TextEntered:
      if (event.text.unicode >= ' ' && event.text.unicode != 127) io.AddInputCharacter(event.text.unicode);
      break;
    case sf::Event::LostFocus:
      std::fill(std::begin(io.KeysDown), std::end(io.KeysDown), false);
      break;
    default:
      break;
  }
}

void ImGuiSfml::begin(sf::RenderWindow& window, float seconds, float scale, bool dark) {
  if (std::abs(scale - scale_) > 0.02F) {
    set_scale(scale);
    styled_ = false;
  }
  if (!styled_ || dark != dark_) {
    style(dark ? dark_theme() : light_theme(), scale);
    dark_ = dark;
    styled_ = true;
  }
  ImGuiIO& io = ImGui::GetIO();
  io.DisplaySize = {static_cast<float>(window.getSize().x), static_cast<float>(window.getSize().y)};
  io.DeltaTime = std::max(seconds, 1e-5F);
  ImGui_ImplOpenGL2_NewFrame();
  ImGui::NewFrame();
}

void ImGuiSfml::draw(sf::RenderWindow& window) {
  ImGui::Render();
  window.pushGLStates();
  ImGui_ImplOpenGL2_RenderDrawData(ImGui::GetDrawData());
  window.popGLStates();
}

bool ImGuiSfml::takes_mouse() const {
  return ImGui::GetIO().WantCaptureMouse;
}
bool ImGuiSfml::takes_text() const {
  return ImGui::GetIO().WantTextInput;
}

void ImGuiSfml::walk(bool on) {
  walking_ = on;
  if (!on) ImGui::SetWindowFocus(nullptr);
  auto& flags = ImGui::GetIO().ConfigFlags;
  flags = on ? flags | ImGuiConfigFlags_NavEnableKeyboard : flags & ~ImGuiConfigFlags_NavEnableKeyboard;
}

void ImGuiSfml::walk_on(const std::vector<const char*>& windows) {
  pane_ = walking_ ? (pane_ + 1) % windows.size() : 0;
  walk(true);
  ImGui::SetWindowFocus(windows[pane_]);
}

}  // namespace glassbowl::viz
