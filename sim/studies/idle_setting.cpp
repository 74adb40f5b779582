#include "sim/studies/idle_setting.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "models/constants.hpp"
#include "models/engine/friction.hpp"
#include "sim/api/error.hpp"
#include "sim/studies/judging.hpp"
#include "sim/studies/steady_point.hpp"

namespace glassbowl::sim {
namespace {

constexpr double degree = m::constants::pi / 180.0, rpm = m::constants::pi / 30.0;
constexpr const char* stop_key = "carburetor.throttle.idle_stop";
constexpr const char* turns_key = "carburetor.screw.turns";
constexpr double usual_idle = 1100.0 * rpm;  // where only the screw is sought
constexpr double fewest_turns = 0.5, most_turns = 6.0;
constexpr double narrow_enough = 0.004 * degree;  // some 3 rpm
constexpr std::size_t row = 8;                    // points computed together

struct Setting {
  double stop, turns;  ///< [rad], [-]
};

struct Trial {
  Setting setting;
  SteadyFigures figures;
  bool runs() const {
    return figures.usable() && std::isfinite(figures.torque) && figures.misfires <= most_misfires;
  }
  double torque() const { return figures.usable() ? figures.torque : -INFINITY; }
};

std::vector<double> spaced(double low, double high, std::size_t count) {
  std::vector<double> out;
  for (std::size_t i = 0; i < count; ++i)
    out.push_back(low + (high - low) * static_cast<double>(i) / static_cast<double>(count - 1));
  return out;
}

class Search {
 public:
  Search(const TargetReader& read, PointRunner& runner, const ResolvedCase& first)
      : read_(read),
        runner_(runner),
        open_(first.open),
        closed_(first.bike.carburetor.throttle.closed_angle) {
    speed_ = open_.idle_speed > 0.0 ? open_.idle_speed : usual_idle;
    place_ = {speed_, 0.0, first.bike.air.altitude(0.0), first.bike.air.warmer};
    at_ = {first.bike.carburetor.idle_stop, first.bike.carburetor.screw.turns};
  }

  FoundValues find() {
    if (open_.idle_speed > 0.0) {
      first_stop();
      if (open_.best_idle) {
        best_turns(fewest_turns, most_turns);
        narrow_stop(at_.stop - 1.0 * degree, at_.stop + 1.0 * degree);
        best_turns(std::max(fewest_turns, at_.turns - 0.5), std::min(most_turns, at_.turns + 0.5));
      }
      narrow_stop(at_.stop - 0.5 * degree, at_.stop + 0.5 * degree);
    } else if (open_.best_idle) {
      best_turns(fewest_turns, most_turns);
      best_turns(std::max(fewest_turns, at_.turns - 0.5), std::min(most_turns, at_.turns + 0.5));
    }
    return found(at_, true);
  }

 private:
  FoundValues found(const Setting& s, bool with_words) const {
    FoundValues out;
    if (open_.idle_speed > 0.0)
      out[stop_key] = {fmt::format("\"{:.5f} deg\"", s.stop / degree),
                       with_words ? fmt::format("found for idle_speed = {:.0f} rpm", speed_ / rpm) : ""};
    if (open_.best_idle)
      out[turns_key] = {fmt::format("{:.3f}", s.turns),
                        with_words ? fmt::format("found for best idle at {:.0f} rpm", speed_ / rpm) : ""};
    return out;
  }

  std::vector<Trial> compute(const std::vector<Setting>& settings) {
    std::vector<PointTask> tasks;
    for (const Setting& s : settings)
      tasks.push_back(steady_task(
          std::make_shared<const SharedCase>(read_(found(s, false)).text, Sets{"run.method=fixed_step"}),
          place_));
    const auto figures = run_steady(runner_, tasks);
    std::vector<Trial> out;
    for (std::size_t i = 0; i < settings.size(); ++i) out.push_back({settings[i], figures[i]});
    return out;
  }

  /// A row of stops over what an idle may need, with several settings of the screw where that is sought.
  void first_stop() {
    std::vector<Setting> row_of_stops;
    const auto turns = open_.best_idle ? std::vector<double>{1.0, 2.0, 3.5} : std::vector<double>{at_.turns};
    const double open = std::max(at_.stop - closed_, 0.5 * degree);
    for (const double part : {0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 2.0, 2.75})
      for (const double t : turns) row_of_stops.push_back({closed_ + part * open, t});
    const auto trials = compute(row_of_stops);
    // Of the screws that reach it the one with the least air: it burns best.
    std::optional<std::pair<Trial, Trial>> best;
    for (const double t : turns) {
      const Trial* below = nullptr;
      for (const Trial& trial : trials) {
        if (trial.setting.turns != t) continue;
        if (trial.torque() < 0.0) below = &trial;
        if (trial.torque() >= 0.0 && below != nullptr && trial.runs()) {
          if (!best || trial.setting.stop < best->second.setting.stop) best = {*below, trial};
          break;
        }
      }
    }
    if (!best) refuse(trials);
    at_.turns = best->second.setting.turns;
    narrow_stop(best->first.setting.stop, best->second.setting.stop);
  }

  /// The stop of no torque between two.
  void narrow_stop(double low, double high) {
    low = std::max(low, closed_ + 0.02 * degree);
    while (high - low > narrow_enough) {
      std::vector<Setting> settings;
      for (const double stop : spaced(low, high, row)) settings.push_back({stop, at_.turns});
      const auto trials = compute(settings);
      std::size_t above = 1;
      while (above < trials.size() && !(trials[above].torque() >= 0.0 && trials[above - 1].torque() < 0.0))
        ++above;
      if (above == trials.size()) refuse(trials);
      const Trial &a = trials[above - 1], &b = trials[above];
      low = a.setting.stop;
      high = b.setting.stop;
      const double slope = b.torque() - a.torque();
      at_.stop = std::isfinite(slope) ? low - a.torque() / slope * (high - low) : high;
    }
  }

  /// The turns with the highest torque at this stop.
  void best_turns(double fewest, double most) {
    std::vector<Setting> settings;
    for (const double t : spaced(fewest, most, row + 1)) settings.push_back({at_.stop, t});
    const auto trials = compute(settings);
    std::size_t best = 0;
    for (std::size_t i = 1; i < trials.size(); ++i)
      if (trials[i].torque() > trials[best].torque()) best = i;
    if (!trials[best].figures.usable()) refuse(trials);
    const bool at_end = best == 0 || best + 1 == trials.size();
    if (at_end && (trials[best].setting.turns == fewest_turns || trials[best].setting.turns == most_turns))
      throw Error(
          ErrorKind::input,
          fmt::format("best_idle is not reached between {} and {} turns of the mixture screw: the engine "
                      "still runs better towards {:.1f} turns, at lambda {:.2f}. {}",
                      fewest_turns, most_turns, trials[best].setting.turns, trials[best].figures.trapped,
                      best == 0 ? "The slow jet is too large, its air jet too small, or give "
                                  "carburetor.screw.turns"
                                : "The slow jet is too small, its air jet too large, or give "
                                  "carburetor.screw.turns"));
    at_.turns = trials[best].setting.turns;
    if (at_end) return;
    const double a = trials[best - 1].torque(), b = trials[best].torque(), c = trials[best + 1].torque();
    const double step = trials[best + 1].setting.turns - at_.turns, bend = a - 2.0 * b + c;
    if (std::isfinite(bend) && bend < 0.0) at_.turns += std::clamp(0.5 * (a - c) / bend, -1.0, 1.0) * step;
  }

  [[noreturn]] void refuse(const std::vector<Trial>& trials) const {
    const auto nearest = std::min_element(trials.begin(), trials.end(), [](const Trial& a, const Trial& b) {
      return std::abs(a.torque()) < std::abs(b.torque());
    });
    const auto& f = nearest->figures;
    const std::string reached =
        f.usable() ? fmt::format(
                         "nearest is an idle stop of {:.2f} deg with {:.2f} turns of the screw: {:+.2f} "
                         "N m at this speed, in-cylinder lambda {:.2f}, misfires in {:.0f} % of cycles",
                         nearest->setting.stop / degree, nearest->setting.turns, f.torque, f.trapped,
                         100.0 * f.misfires)
                   : "no point could be computed";
    const char* remedy = !f.usable() ? "Check the sizes by `glassbowl check CASE --no-computation`"
                         : f.torque > 0.0
                             ? "Ask for a higher speed, or check the plate's leak and closed angle"
                         : f.trapped > 1.15 ? "It is too lean: check slow jet, slow air jet and screw"
                         : f.trapped < 0.7  ? "It is too rich: check slow jet, slow air jet and screw"
                                            : "Check friction, timing and compression ratio";
    throw Error(ErrorKind::input,
                fmt::format("idle_speed = {:.0f} rpm is not reached by any idle stop: {}. {}", speed_ / rpm,
                            reached, remedy));
  }

  const TargetReader& read_;
  PointRunner& runner_;
  OpenTargets open_;
  double closed_, speed_ = 0.0;  // [rad], [rad/s]
  Place place_;
  Setting at_{};
};

}  // namespace

ResolvedCase with_targets_found(const TargetReader& read, PointRunner& runner) {
  ResolvedCase first = read({});
  if (!first.open.any()) return first;
  return read(Search(read, runner, first).find());
}

ResolvedCase read_case_with_targets(const std::filesystem::path& file, const std::vector<std::string>& sets) {
  PointRunner runner(nullptr, 0);
  return with_targets_found([&](const FoundValues& found) { return read_case(file, sets, found); }, runner);
}

}  // namespace glassbowl::sim
