#include "viz/session.hpp"

#include <cstdio>
#include <utility>

#include "sim/api/error.hpp"
#include "viz/lessons/folder.hpp"
#include "viz/source/trace_source.hpp"

namespace glassbowl::viz {
namespace {

constexpr double live_rate = 0.1;  // of real time: an idling engine's piston is seen to move

std::unique_ptr<Source> open_trace(const std::string& name) {
  std::error_code ignored;
  if (!name.ends_with(".partial") && !std::filesystem::exists(name, ignored) &&
      !std::filesystem::exists(name + ".partial", ignored))
    throw sim::Error(sim::ErrorKind::input, name + ": there is no such trace; `glassbowl run` makes one");
  return std::make_unique<TraceSource>(name);
}

}  // namespace

Session::Session(const sf::Font& font, std::unique_ptr<Source> first, std::unique_ptr<Source> second,
                 std::vector<LiveSource*> benches, std::shared_ptr<sim::LiveClock> clock)
    : view(font, std::move(first), std::move(second)), app(view, font, std::move(benches), std::move(clock)) {
  std::vector<std::string> problems;
  app.lessons = read_lessons(lesson_folder(), problems);
  for (const auto& problem : problems) std::fprintf(stderr, "glassbowl-view: %s\n", problem.c_str());
}

std::unique_ptr<Session> Session::open(const Choice& choice, const sf::Font& font) {
  if (choice.live.empty()) {
    auto first = open_trace(choice.trace);
    auto second = choice.beside.empty() ? nullptr : open_trace(choice.beside);
    auto session = std::make_unique<Session>(font, std::move(first), std::move(second),
                                             std::vector<LiveSource*>(), nullptr);
    if (choice.lesson)
      session->view.set_lesson(std::make_unique<LessonRun>(*choice.lesson, session->app.source()));
    return session;
  }
  const auto clock = std::make_shared<sim::LiveClock>();
  std::vector<LiveSource*> benches;
  const auto open_live = [&](const std::string& name) {
    auto source = std::make_unique<LiveSource>(name, choice.sets, clock);
    benches.push_back(source.get());
    return source;
  };
  std::unique_ptr<Source> first = open_live(choice.live), second;
  if (!choice.beside.empty()) second = open_live(choice.beside);
  auto session = std::make_unique<Session>(font, std::move(first), std::move(second), benches, clock);
  session->app.set_rate(live_rate);
  return session;
}

}  // namespace glassbowl::viz
