#pragma once
#include <SFML/System/Err.hpp>
#include <sstream>

namespace glassbowl::viz {

/// Keeps SFML's own messages off the terminal while it lives: ours say it in one line.
class Quiet {
 public:
  Quiet() : kept_(sf::err().rdbuf(sink_.rdbuf())) {}
  ~Quiet() { sf::err().rdbuf(kept_); }
  Quiet(const Quiet&) = delete;
  Quiet& operator=(const Quiet&) = delete;

 private:
  std::ostringstream sink_;
  std::streambuf* kept_;
};

}  // namespace glassbowl::viz
