#include "sim/studies/idle_setting.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "models/constants.hpp"
#include "models/engine/friction.hpp"
#include "sim/api/error.hpp"
#include "sim/points/steady_point.hpp"
#include "sim/studies/judging.hpp"

namespace glassbowl::sim {
namespace {

constexpr double degree = m::constants::pi / 180.0, rpm = m::constants::pi / 30.0;
constexpr const char* stop_key = "carburetor.throttle.idle_stop";
constexpr const char* turns_key = "carburetor.screw.turns";
constexpr double usual_idle = 1100.0 * rpm;  // where only the screw is sought
constexpr double fewest_turns = 0.5, most_turns = 6.0;
constexpr double roughly = 0.1 * degree, closely = 0.003 * degree;  // the latter is some 2 rpm
constexpr double least_open = 0.02 * degree;

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

/// Two stops between which brake torque changes its sign.
struct Bracket {
  Trial below, above;
};

std::vector<double> spaced(double low, double high, std::size_t count) {
  std::vector<double> out;
  for (std::size_t i = 0; i < count; ++i)
    out.push_back(low + (high - low) * static_cast<double>(i) / static_cast<double>(count - 1));
  return out;
}

class Search {
 public:
  Search(const TargetReader& read, PointScheduler& scheduler, const ResolvedCase& first)
      : read_(read),
        scheduler_(scheduler),
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
        best_turns(fewest_turns, most_turns, 7);
        narrow_stop(bracket(0.4 * degree), roughly);
        best_turns(std::max(fewest_turns, at_.turns - 0.6), std::min(most_turns, at_.turns + 0.6), 5);
      }
      narrow_stop(bracket(0.1 * degree), closely);
    } else if (open_.best_idle) {
      best_turns(fewest_turns, most_turns, 7);
      best_turns(std::max(fewest_turns, at_.turns - 0.6), std::min(most_turns, at_.turns + 0.6), 5);
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
    const auto figures = run_steady(scheduler_, tasks);
    std::vector<Trial> out;
    for (std::size_t i = 0; i < settings.size(); ++i) out.push_back({settings[i], figures[i]});
    return out;
  }

  /// A row of stops over what an idle may need, with several settings of the screw where that is sought.
  void first_stop() {
    std::vector<Setting> row;
    const auto turns = open_.best_idle ? std::vector<double>{1.0, 2.0, 3.5} : std::vector<double>{at_.turns};
    const double open = std::max(at_.stop - closed_, 0.5 * degree);
    for (const double part : {0.2, 0.4, 0.6, 0.8, 1.1, 1.6, 2.5})
      for (const double t : turns) row.push_back({closed_ + part * open, t});
    const auto trials = compute(row);
    // Of the screws that reach it the one with the least air: it burns best.
    std::optional<Bracket> best;
    for (const double t : turns) {
      const Trial* below = nullptr;
      for (const Trial& trial : trials) {
        if (trial.setting.turns != t) continue;
        if (trial.torque() < 0.0) below = &trial;
        if (trial.torque() >= 0.0 && below != nullptr && trial.runs()) {
          if (!best || trial.setting.stop < best->above.setting.stop) best = {*below, trial};
          break;
        }
      }
    }
    if (!best) refuse(trials);
    at_.turns = best->above.setting.turns;
    narrow_stop(*best, roughly);
  }

  /// Stops about the present one between which torque changes its sign.
  Bracket bracket(double half_width) {
    std::vector<Trial> trials;
    for (int widened = 0; widened < 5; ++widened, half_width *= 2.0) {
      trials = compute({{std::max(at_.stop - half_width, closed_ + least_open), at_.turns},
                        {at_.stop + half_width, at_.turns}});
      if (trials[0].torque() < 0.0 && trials[1].torque() >= 0.0) return {trials[0], trials[1]};
    }
    refuse(trials);
  }

  /// The stop of no torque between two: a straight line foretells it, and a narrow pair about it is tried.
  void narrow_stop(Bracket b, double width) {
    while (true) {
      const double low = b.below.setting.stop, high = b.above.setting.stop;
      const double share = b.below.torque() / (b.below.torque() - b.above.torque());
      const double part = std::isfinite(share) ? std::clamp(share, 0.05, 0.95) : 0.5;
      at_.stop = low + part * (high - low);
      if (high - low <= width) return;
      const double half = 0.1 * (high - low);
      const auto pair = compute(
          {{std::max(low, at_.stop - half), at_.turns}, {std::min(high, at_.stop + half), at_.turns}});
      if (pair[0].torque() >= 0.0)
        b.above = pair[0];
      else if (pair[1].torque() >= 0.0)
        b = {pair[0], pair[1]};
      else
        b.below = pair[1];
    }
  }

  /// The turns with the highest torque at this stop.
  void best_turns(double fewest, double most, std::size_t count) {
    std::vector<Setting> settings;
    for (const double t : spaced(fewest, most, count)) settings.push_back({at_.stop, t});
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
  PointScheduler& scheduler_;
  OpenTargets open_;
  double closed_, speed_ = 0.0;  // [rad], [rad/s]
  Place place_;
  Setting at_{};
};

}  // namespace

ResolvedCase with_targets_found(const TargetReader& read, PointScheduler& scheduler) {
  ResolvedCase first = read({});
  if (!first.open.any()) return first;
  return read(Search(read, scheduler, first).find());
}

ResolvedCase read_case_with_targets(const std::filesystem::path& file, const std::vector<std::string>& sets) {
  PointScheduler scheduler(nullptr, 0);
  return with_targets_found([&](const FoundValues& found) { return read_case(file, sets, found); },
                            scheduler);
}

}  // namespace glassbowl::sim
