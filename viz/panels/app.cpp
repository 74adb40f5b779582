#include "viz/panels/app.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/api/error.hpp"

namespace glassbowl::viz {
namespace {

constexpr double one_movement = 0.5;  // [s] within which movements of a control are one step to undo

/// Calls `each` with every control.
template <class Each>
void controls_of(Each each) {
  using C = sim::LiveControls;
  each(&C::throttle), each(&C::choke), each(&C::tap), each(&C::starter), each(&C::altitude), each(&C::load),
      each(&C::speed);
}

bool same(const sim::LiveControls& a, const sim::LiveControls& b) {
  bool equal = true;
  controls_of([&](auto member) { equal = equal && a.*member == b.*member; });
  return equal;
}

}  // namespace

void App::apply(std::size_t bike, const BikeSetting& wanted) {
  auto& now = settings[bike];
  if (wanted.changes != now.changes) live[bike]->bench().set_changes(wanted.changes);
  if (!same(wanted.controls, now.controls)) live[bike]->bench().set_controls(wanted.controls);
  now = wanted;
  hand_age = 0.0;
}

/// Gives back what a step changed, and nothing else; false if nothing differs.
bool App::replace(const std::vector<BikeSetting>& from, const std::vector<BikeSetting>& to) {
  bool differs = false;
  for (std::size_t i = 0; i < live.size(); ++i) {
    auto wanted = settings[i];
    if (from[i].changes != to[i].changes) wanted.changes = to[i].changes;
    controls_of([&](auto member) {
      if (from[i].controls.*member != to[i].controls.*member)
        wanted.controls.*member = to[i].controls.*member;
    });
    differs =
        differs || wanted.changes != settings[i].changes || !same(wanted.controls, settings[i].controls);
    apply(i, wanted);
  }
  return differs;
}

void App::change(const std::string& what, bool joins,
                 const std::function<void(std::size_t bike, BikeSetting&)>& change) {
  const auto before = settings;
  const bool together = joins && hand_age < one_movement;
  for (std::size_t i = 0; i < live.size(); ++i) {
    if (!reaches(i)) continue;
    auto wanted = settings[i];
    change(i, wanted);
    apply(i, wanted);
  }
  undo.add({what, before, settings}, together);
}

void App::adjust(const std::string& what, const std::function<void(sim::LiveControls&)>& by) {
  change(what, true, [&](std::size_t, BikeSetting& setting) { by(setting.controls); });
}

void App::set_part(const std::string& key, const std::string& value) {
  const std::string what =
      value.empty() ? name_of_key(key) + ": as in the case" : name_of_key(key) + ": " + value;
  change(what, false, [&](std::size_t, BikeSetting& setting) {
    value.empty() ? (void)setting.changes.erase(key) : (void)(setting.changes[key] = value);
  });
}

void App::step_part(const PartChange& part, int steps) {
  const std::string what = fmt::format("{} {:+g} {}", part.name, steps * part.step, part.unit);
  change(what, false, [&](std::size_t bike, BikeSetting& setting) {
    const auto& geometry = live[bike]->geometry();
    if (part.fitted(geometry))
      setting.changes[part.key] = part.written(part.shown(geometry) + steps * part.step);
  });
}

void App::undo_change() {
  while (const auto* step = undo.back())
    if (replace(step->after, step->before)) return say("Undone: " + step->what);
  say("Nothing to undo.");
}

void App::redo_change() {
  while (const auto* step = undo.again())
    if (replace(step->before, step->after)) return say("Done again: " + step->what);
  say("Nothing to redo.");
}

void App::restart(sim::LiveRestart how) {
  const bool as_in_case = how == sim::LiveRestart::as_in_case;
  if (as_in_case) {
    auto after = settings;
    for (auto& setting : after) setting.changes.clear();
    undo.add({"restart as in the case", settings, after}, false);
    settings = after;
  }
  for (auto* bench : live) bench->bench().reset(how);
  hand_age = 1e9;
  say(as_in_case ? "Restarted with parts and faults as in the case." : "Restarted.");
}

void App::begin_lesson(const Lesson& lesson) {
  try {
    if (live.empty()) {
      view.set_lesson(std::make_unique<LessonRun>(lesson, source()));
      panel = Panel::none;
      return;
    }
  } catch (const sim::Error&) {  // this run does not fit; its own does
  }
  want_lesson = lesson;
}

void App::follow_controls() {
  for (std::size_t i = 0; i < live.size(); ++i)
    if (live[i]->answered()) settings[i] = {live[i]->changes(), live[i]->controls()};
}

}  // namespace glassbowl::viz
