#pragma once
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "viz/panels/app.hpp"

namespace glassbowl::viz {

/// What is looked at: a trace, a live bike or a lesson; nothing opens the start page.
struct Choice {
  std::string trace;              ///< file of a trace
  std::string live;               ///< case that runs live, as sim::LiveBench takes it
  std::string beside;             ///< a second one of the same kind
  std::vector<std::string> sets;  ///< keys that a live bike changes
  std::optional<Lesson> lesson;   ///< shown on the trace
  bool nothing() const { return trace.empty() && live.empty() && !lesson; }
};

/// One view with its controls. Members are made in this order: the controls hold on to the view.
struct Session {
  View view;
  App app;

  /// Errors   sim::Error when something cannot be read.
  static std::unique_ptr<Session> open(const Choice& choice, const sf::Font& font);

  Session(const sf::Font& font, std::unique_ptr<Source> first, std::unique_ptr<Source> second,
          std::vector<LiveSource*> benches, std::shared_ptr<sim::LiveClock> clock);
};

}  // namespace glassbowl::viz
