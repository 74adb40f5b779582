#pragma once
#include <SFML/Graphics/Font.hpp>
#include <filesystem>

#include "viz/lessons/lesson.hpp"

namespace glassbowl::viz {

struct HandoutPlan {
  std::filesystem::path target;  ///< .html, or .pdf, which a browser prints
  int sheets = 1;                ///< exercise sheets, each with another main jet; 1: as in the lesson's case
  bool replace = false;
};

/// A lesson on paper: a picture and a text for each step, the question with blanks, and the answers, measured
/// on the runs, on a page of their own. Needs a display for its pictures. Errors   sim::Error{input} wrong
/// ending, a file that is there; {file} cannot write or print; of the run.
void write_handout(const Lesson& lesson, const sf::Font& font, const HandoutPlan& plan);

}  // namespace glassbowl::viz
