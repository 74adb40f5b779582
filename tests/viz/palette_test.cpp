#include "viz/look/palette.hpp"

#include <catch2/catch.hpp>
#include <vector>

#include "tests/viz/pixels.hpp"

namespace glassbowl::viz {

TEST_CASE("palette: text has a contrast of 4.5 and lines of 3 in both themes (WCAG 2.1, 1.4.3 and 1.4.11)",
          "[viz][palette]") {
  CHECK(contrast(sf::Color::Black, sf::Color::White) == Approx(21.0));
  CHECK(contrast(sf::Color(119, 119, 119), sf::Color::White) == Approx(4.48).margin(0.01));
  for (const Theme* theme : {&dark_theme(), &light_theme(), &print_theme()})
    for (const sf::Color ground : {theme->background, theme->panel}) {
      CAPTURE(theme->dark);
      for (const sf::Color text : {theme->text, theme->faint, theme->danger, theme->second, theme->accent})
        CHECK(contrast(text, ground) >= 4.5);
      for (int hue = 0; hue < static_cast<int>(Hue::count); ++hue) {
        CAPTURE(hue);
        CHECK(contrast(color_of(static_cast<Hue>(hue), *theme), ground) >= 3.0);
      }
      CHECK(contrast(theme->cursor, ground) >= 3.0);
      CHECK(contrast(theme->metal_edge, ground) >= 3.0);
    }
  CHECK(contrast(sf::Color::Black, dark_theme().danger) >= 4.5);
  CHECK(contrast(sf::Color::White, light_theme().danger) >= 4.5);
}

TEST_CASE("palette: no two meanings share a colour", "[viz][palette]") {
  for (const Theme* theme : {&dark_theme(), &light_theme()}) {
    std::vector<sf::Color> meanings{theme->danger, theme->second, theme->flame};
    for (int hue = 0; hue < static_cast<int>(Hue::count); ++hue)
      meanings.push_back(color_of(static_cast<Hue>(hue), *theme));
    for (std::size_t i = 0; i < meanings.size(); ++i)
      for (std::size_t k = i + 1; k < meanings.size(); ++k) {
        CAPTURE(theme->dark, i, k);
        CHECK(distance(meanings[i], meanings[k]) > 60);
      }
    // No pressure looks like a circuit, a warning or fuel at rest.
    for (double p = 5e3; p < 195e3; p += 2e3)
      for (std::size_t i = 0; i < meanings.size(); ++i) {
        if (i == 2) continue;  // burning gas has rays besides
        if (i == 3) continue;  // air is neutral, as gas at the pressure of the air is
        CAPTURE(theme->dark, p, i);
        CHECK(distance(pressure_color(p, 101325.0, *theme), meanings[i]) > 45);
      }
  }
}

TEST_CASE("palette: a print has no colours at all", "[viz][palette]") {
  const Theme& theme = print_theme();
  const auto grey = [](sf::Color c) { return c.r == c.g && c.g == c.b; };
  for (int hue = 0; hue < static_cast<int>(Hue::count); ++hue) {
    CHECK(grey(color_of(static_cast<Hue>(hue), theme)));
    CHECK(grey(ground_of(static_cast<Hue>(hue), theme)));
  }
  for (const sf::Color c : {theme.text, theme.danger, theme.second, theme.metal, theme.background})
    CHECK(grey(c));
  CHECK(grey(pressure_color(60e3, 101325.0, theme)));
}

TEST_CASE("palette: pressure grows lighter all the way, so that it reads in grey", "[viz][palette]") {
  for (const Theme* theme : {&dark_theme(), &light_theme()}) {
    double last = 0.0;
    for (double p = 12e3; p < 190e3; p += 2e3) {
      const double grown = contrast(pressure_color(p, 101325.0, *theme), sf::Color::Black);
      CHECK(grown >= last - 0.02);
      last = grown;
    }
  }
}

}  // namespace glassbowl::viz
