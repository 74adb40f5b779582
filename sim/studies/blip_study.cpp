#include "sim/studies/blip_study.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <span>

#include "sim/api/error.hpp"
#include "sim/report/lambda_text.hpp"
#include "sim/run/channels.hpp"
#include "sim/run/run_case.hpp"
#include "sim/run/summary.hpp"
#include "sim/run/throttle_movement.hpp"
#include "sim/run/version.hpp"
#include "sim/studies/steady_map.hpp"

namespace glassbowl::sim {
namespace {

constexpr std::size_t curve_points = 121;
constexpr double lean_beyond = 1.15;

struct Column {
  const char* name;
  const char* unit;
  const char* long_name;
  double BlipFigures::*value;
  double BlipLag::*measured = nullptr;  // where a run's summary has it
};
constexpr auto columns = std::to_array<Column>({
    {"lag_10", "s", "10 % of the rise later than with an ideal mixture", &BlipFigures::lag_10,
     &BlipLag::lag_10},
    {"lag_50", "s", "50 % of the rise later than with an ideal mixture", &BlipFigures::lag_50,
     &BlipLag::lag_50},
    {"lag_90", "s", "90 % of the rise later than with an ideal mixture", &BlipFigures::lag_90,
     &BlipLag::lag_90},
    {"rise_50", "s", "50 % of the rise after the throttle began to open", &BlipFigures::rise_50,
     &BlipLag::rise_50},
    {"leanest", "1", "leanest in-cylinder lambda after the start", &BlipFigures::leanest, &BlipLag::leanest},
    {"richest", "1", "richest in-cylinder lambda after the start", &BlipFigures::richest, &BlipLag::richest},
    {"lean_area", "s", "lambda beyond 1.15 over time, worst cylinder", &BlipFigures::lean_area,
     &BlipLag::lean_area},
    {"misfires", "1", "charges that did not light after the start", &BlipFigures::misfires},
    {"lift_50", "s", "vacuum piston: half of its rise", &BlipFigures::lift_50, &BlipLag::lift_50},
    {"pump_volume", "m3", "delivered by the accelerator pump", &BlipFigures::pump_volume,
     &BlipLag::pump_volume},
    {"stalled", "1", "1 if the engine stalled", &BlipFigures::stalled},
    {"torque_judged", "1", "1 if judged by torque (speed held), else by speed", &BlipFigures::torque},
});

/// Value of a channel at `time`: that of the last row before.
double at(const std::vector<double>& times, const std::vector<double>& values, double time) {
  const auto next = std::upper_bound(times.begin(), times.end(), time);
  if (next == times.begin()) return NAN;
  return values[static_cast<std::size_t>(next - times.begin()) - 1];
}

/// The channels that the curves show, as the run goes along; kept with the digits that a trace has.
class CurveRows {
 public:
  CurveRows(const ResolvedCase& resolved, const ThrottleMovement& movement)
      : channels_(all_channels(resolved.bike)),
        first_(std::max(0.0, movement.start - 0.1)),
        last_(movement.end),
        interval_(resolved.plan.trace_interval) {
    const auto number = [](const std::vector<Channel>& list, std::string_view name) {
      const auto found =
          std::find_if(list.begin(), list.end(), [&](const auto& c) { return c.name == name; });
      return static_cast<std::size_t>(found - list.begin());
    };
    speed_ = number(channels_.time, "crank_speed");
    cycle_start_ = number(channels_.cycle, "cycle_start");
    brake_ = number(channels_.cycle, "cycle_brake_torque");
    for (std::size_t i = 0; i < channels_.time.size(); ++i)
      if (channels_.time[i].name.ends_with("_trapped_lambda")) lambdas_.push_back(i);
  }

  void listen(RunRequest& request) {
    request.time_row = [this](double time, std::span<const double> values) {
      if (time < first_ - 2.0 * interval_ || time > last_) return;
      times_.push_back(time);
      speeds_.push_back(stored(channels_.time, speed_, values));
      double leanest = NAN;
      for (const std::size_t i : lambdas_) leanest = std::fmax(leanest, stored(channels_.time, i, values));
      leanest_.push_back(leanest);
    };
    request.cycle_row = [this](double /*number*/, std::span<const double> values) {
      cycles_.push_back(stored(channels_.cycle, cycle_start_, values));
      torques_.push_back(stored(channels_.cycle, brake_, values));
    };
  }

  void draw(bool torque, BlipFigures& out) const {
    for (std::size_t i = 0; i < curve_points; ++i) {
      const double t = first_ + (last_ - first_) * static_cast<double>(i) / (curve_points - 1);
      out.time.push_back(t);
      out.response.push_back(torque ? at(cycles_, torques_, t) : at(times_, speeds_, t));
      const double leanest = at(times_, leanest_, t);
      out.lambda.push_back(no_fuel(leanest) ? NAN : leanest);
    }
  }

 private:
  static double stored(const std::vector<Channel>& list, std::size_t i, std::span<const double> values) {
    return list[i].wide ? values[i] : static_cast<double>(static_cast<float>(values[i]));
  }

  ChannelList channels_;
  double first_, last_, interval_;
  std::size_t speed_ = 0, cycle_start_ = 0, brake_ = 0;
  std::vector<std::size_t> lambdas_;
  std::vector<double> times_, speeds_, leanest_, cycles_, torques_;
};

std::vector<double> to_values(const BlipFigures& b) {
  std::vector<double> out;
  for (const auto& c : columns) out.push_back(b.*c.value);
  for (const auto* curve : {&b.time, &b.response, &b.lambda})
    out.insert(out.end(), curve->begin(), curve->end());
  return out;
}

BlipFigures compute(const std::string& text, const Sets& sets) {
  const ResolvedCase resolved = read_case_text(text, "blip", sets);
  RunRequest request;
  std::optional<CurveRows> rows;
  if (const auto movement = find_throttle_movement(resolved.bike.rider.throttle, resolved.plan.duration))
    rows.emplace(resolved, *movement).listen(request);
  const Summary summary = run_case(resolved, request);
  BlipFigures out;
  out.stalled = summary.ending == Ending::stalled ? 1.0 : 0.0;
  if (summary.blip) {
    const BlipLag& b = *summary.blip;
    for (const auto& c : columns)
      if (c.measured != nullptr) out.*c.value = b.*c.measured;
    out.misfires = static_cast<double>(b.misfires);
    out.torque = b.torque ? 1.0 : 0.0;
    rows->draw(b.torque, out);
  }
  return out;
}

std::string ms(double seconds) {
  return std::isfinite(seconds) ? fmt::format("{:.0f}", seconds * 1e3) : "-";
}

/// `fitted` is what to compare with, if there is anything.
std::string one(const std::string& name, const BlipFigures& b, const BlipFigures* fitted) {
  if (!b.computed()) return fmt::format("{}: not computed.\n", name);
  if (b.stalled > 0.0) return fmt::format("{}: the engine stalls.\n", name);
  if (!std::isfinite(b.lag_50))
    return fmt::format("{}: half of the rise is not reached, leanest lambda {}, {}.\n", name,
                       lambda_text(b.leanest, 2), counted(static_cast<std::size_t>(b.misfires), "misfire"));
  const double change = fitted != nullptr ? b.lag_50 - fitted->lag_50 : NAN;
  const std::string against =
      std::isfinite(change) ? fmt::format(" ({:+.0f} ms against the fitted)", change * 1e3) : "";
  return fmt::format(
      "{}: half of the rise {} ms later than with an ideal mixture{}, leanest lambda {}, "
      "{}.\n",
      name, ms(b.lag_50), against, lambda_text(b.leanest, 2),
      counted(static_cast<std::size_t>(b.misfires), "misfire"));
}

}  // namespace

PointTask blip_task(const std::string& case_text, const Sets& sets, const std::string& name) {
  return {fmt::format("{}\nblip\n{}\n{}", point_digest(), fmt::join(sets, "\n"), case_text),
          [=]() -> PointResult {
            try {
              return to_values(compute(case_text, sets));
            } catch (const Error& failure) {
              if (failure.kind() == ErrorKind::file) throw;
              BlipFigures none;
              none.stalled = NAN;
              return {to_values(none), failure.what()};
            }
          },
          {},
          nullptr,
          0.0,
          "blip, " + name};
}

BlipFigures to_blip(const std::vector<double>& values) {
  BlipFigures out;
  if (values.size() < columns.size()) return out;
  for (std::size_t i = 0; i < columns.size(); ++i) out.*columns[i].value = values[i];
  const std::size_t n = (values.size() - columns.size()) / 3;
  auto from = values.begin() + columns.size();
  for (auto* curve : {&out.time, &out.response, &out.lambda}) {
    curve->assign(from, from + static_cast<std::ptrdiff_t>(n));
    from += static_cast<std::ptrdiff_t>(n);
  }
  return out;
}

std::vector<Variant> usual_variants(const ResolvedCase& resolved) {
  const auto& c = resolved.bike.carburetor;
  const auto mm = [](const char* key, double metres) {
    return fmt::format("{}=\"{:.6g} mm\"", key, metres * 1e3);
  };
  std::vector<Variant> out{{"as fitted", {}}};
  if (c.pump.fitted) {
    out.push_back({"no pump", {"carburetor.pump.fitted=false"}});
    out.push_back({"half the pump stroke", {mm("carburetor.pump.stroke", 0.5 * c.pump.stroke)}});
    out.push_back(
        {"pump nozzle a fifth smaller", {mm("carburetor.pump.nozzle.bore", 0.8 * c.pump.nozzle.bore)}});
    out.push_back({"pump starts at 15 % throttle", {"carburetor.pump.cam_start=15 %"}});
  }
  if (c.kind == CarburetorKind::constant_depression) {
    out.push_back({"piston spring a half stiffer",
                   {fmt::format("carburetor.piston.spring_preload={:.6g} N", 1.5 * c.piston.spring_preload),
                    fmt::format("carburetor.piston.spring_rate={:.6g} N/m", 1.5 * c.piston.spring_rate)}});
    out.push_back({"vent holes a third smaller",
                   {mm("carburetor.piston.vent_diameter", 0.67 * c.piston.vent_diameter)}});
    out.push_back(
        {"vent holes half larger", {mm("carburetor.piston.vent_diameter", 1.5 * c.piston.vent_diameter)}});
  }
  out.push_back({"float 3 mm lower", {mm("float.level", c.bowl.level - 3e-3), "float.height=0 mm"}});
  return out;
}

ResolvedCase with_blip(const ResolvedCase& resolved) {
  if (find_throttle_movement(resolved.bike.rider.throttle, resolved.plan.duration)) return resolved;
  return read_case_text(
      resolved.text, resolved.name,
      {"load.kind=neutral", "load.speed=1050 rpm", "load.released=-2 s",
       R"(rider.throttle=[["0.2 s", "0 %"], ["0.26 s", "60 %"], ["0.7 s", "60 %"], ["0.76 s", "0 %"]])",
       "run.settle=5 s", "run.duration=1 s"});
}

std::string blip_table(const std::vector<std::string>& names, const std::vector<BlipFigures>& blips) {
  std::size_t width = 8;
  for (const auto& name : names) width = std::max(width, name.size());
  std::string text = fmt::format(
      "\n  Lag of the rise and lambda after the throttle opens (- not reached, or not computed)\n"
      "  {0:{1}}      lag, ms                lambda        lean beyond\n"
      "  {0:{1}}   10 %   50 %   90 %  leanest richest  1.15, ms  misfires  pump, cm3\n",
      "", width);
  for (std::size_t i = 0; i < blips.size(); ++i) {
    const auto& b = blips[i];
    text += fmt::format("  {:<{}}  {:>5}  {:>5}  {:>5}  {:>7} {:>7}  {:>8}  {:>8}  {:>9}\n", names[i], width,
                        ms(b.lag_10), ms(b.lag_50), ms(b.lag_90), lambda_text(b.leanest, 2),
                        lambda_text(b.richest, 2), number_text(b.lean_area * 1e3, 1),
                        number_text(b.misfires, 0), number_text(b.pump_volume * 1e6, 3));
  }
  return text;
}

std::vector<Chart> blip_charts(const std::vector<std::string>& names, const std::vector<BlipFigures>& blips) {
  Chart response, lambda;
  const bool torque = !blips.empty() && blips.front().torque > 0.0;
  response.name = "blip_response";
  response.title = torque ? "Torque after the throttle opens" : "Speed after the throttle opens";
  response.y_label = torque ? "torque [N m]" : "speed [rpm]";
  response.caption = "How fast the engine answers, variants overlaid.";
  lambda.name = "blip_lambda";
  lambda.title = "Leanest in-cylinder lambda";
  lambda.y_label = "lambda";
  lambda.caption = "Mixture of the leanest cylinder during the blip; beyond about 1.3 misfires begin.";
  response.x_label = lambda.x_label = "time [s]";
  for (std::size_t i = 0; i < blips.size(); ++i) {
    ChartLine r{names[i], {}, false}, l{names[i], {}, false};
    for (std::size_t k = 0; k < blips[i].time.size(); ++k) {
      r.points.emplace_back(blips[i].time[k],
                            torque ? blips[i].response[k] : per_minute(blips[i].response[k]));
      l.points.emplace_back(blips[i].time[k], drawn_lambda(blips[i].lambda[k]));
    }
    response.lines.push_back(std::move(r));
    lambda.lines.push_back(std::move(l));
  }
  return {response, lambda};
}

void add_blips(ResultFile& file, const std::vector<std::string>& names, const std::vector<BlipFigures>& blips,
               const std::string& axis) {
  ResultAxis variants{axis, "1", "number of the variant", {}},
      samples{"sample", "1", "number of the sample", {}};
  ResultText words{axis + "_name", "what the variant is", axis, names};
  ResultVariable time{"time", "s", "time since the start of the run", {axis, "sample"}, {}};
  ResultVariable response{
      "response", "1", "speed [rad/s], or torque [N m] where torque_judged is 1", {axis, "sample"}, {}};
  ResultVariable lambda{
      "leanest_lambda", "1", "in-cylinder lambda of the leanest cylinder", {axis, "sample"}, {}};
  for (std::size_t i = 0; i < curve_points; ++i) samples.values.push_back(static_cast<double>(i));
  for (const auto& c : columns) file.variables.push_back({c.name, c.unit, c.long_name, {axis}, {}});
  for (std::size_t i = 0; i < blips.size(); ++i) {
    variants.values.push_back(static_cast<double>(i));
    for (std::size_t k = 0; k < columns.size(); ++k)
      file.variables[file.variables.size() - columns.size() + k].values.push_back(blips[i].*columns[k].value);
    const auto add = [](ResultVariable& v, std::vector<double> curve) {
      curve.resize(curve_points, NAN);
      v.values.insert(v.values.end(), curve.begin(), curve.end());
    };
    add(time, blips[i].time);
    add(response, blips[i].response);
    add(lambda, blips[i].lambda);
  }
  file.axes.push_back(std::move(variants));
  file.axes.push_back(std::move(samples));
  for (auto* v : {&time, &response, &lambda}) file.variables.push_back(std::move(*v));
  file.texts.push_back(std::move(words));
}

StudyResult run_blips(const ResolvedCase& given, const StudyRequest& request, PointScheduler& scheduler) {
  const ResolvedCase resolved = with_blip(given);
  std::vector<Variant> variants = request.variants;
  if (variants.empty()) {
    variants = usual_variants(resolved);
  } else {
    variants.insert(variants.begin(), {"as fitted", {}});
  }
  std::vector<PointTask> tasks;
  std::vector<std::string> names;
  for (const auto& v : variants) {
    tasks.push_back(blip_task(resolved.text, v.sets, v.name));
    names.push_back(v.name);
  }
  std::vector<BlipFigures> blips;
  for (const auto& values : scheduler.run(tasks)) blips.push_back(to_blip(values));

  StudyResult out;
  out.file = new_result(resolved, request);
  out.verdict =
      "Verdict: not known: a blip says nothing about steady running under load. Run a map for that.\n";
  add_blips(out.file, names, blips, "variant");
  for (std::size_t i = 0; i < blips.size(); ++i) {
    out.answer += one(names[i], blips[i], i > 0 ? &blips.front() : nullptr);
    if (blips[i].leanest > lean_beyond || blips[i].stalled > 0.0) out.caution = leaner_caution;
  }
  out.table = blip_table(names, blips);
  out.charts = blip_charts(names, blips);
  return out;
}

}  // namespace glassbowl::sim
