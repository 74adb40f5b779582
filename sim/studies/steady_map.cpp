#include "sim/studies/steady_map.hpp"

#include <fmt/format.h>

#include <cmath>

#include "models/fluids/atmosphere.hpp"
#include "sim/api/error.hpp"
#include "sim/run/summary.hpp"
#include "sim/run/version.hpp"
#include "sim/studies/point_marks.hpp"

namespace glassbowl::sim {

Place SteadyGrid::place(std::size_t i) const {
  Place place;
  place.opening = openings[i % openings.size()];
  i /= openings.size();
  place.speed = speeds[i % speeds.size()];
  i /= speeds.size();
  place.warmer = warmer[i % warmer.size()];
  place.altitude = altitudes[i / warmer.size()];
  return place;
}

std::vector<Place> SteadyGrid::places() const {
  std::vector<Place> out;
  for (std::size_t i = 0; i < size(); ++i) out.push_back(place(i));
  return out;
}

namespace {

void refuse_changing_controls(const ResolvedCase& resolved, const StudyRequest& request) {
  const Bike<double>& bike = resolved.bike;
  const auto refuse = [&](const m::Schedule<>& control, const char* key, const char* remedy) {
    if (held_value(control)) return;
    throw Error(ErrorKind::input, fmt::format("{}: {} changes over time; a steady point has one value of it; "
                                              "give {}",
                                              resolved.name, key, remedy));
  };
  refuse(bike.rider.choke, "rider.choke", "one, such as --set \"rider.choke=0 %\"");
  refuse(bike.rider.tap, "rider.tap", "one, such as --set \"rider.tap=100 %\"");
  if (request.altitudes.empty())
    refuse(bike.air.altitude, "air.altitude", "the altitudes to examine, such as --altitudes \"0, 2700 m\"");
}

/// [K] by which the case's air is warmer than the standard day; a rounding error of its reading is none.
double own_warmer(const Bike<double>& bike) {
  constexpr double rounding = 1e-9;
  return std::abs(bike.air.warmer) < rounding ? 0.0 : bike.air.warmer;
}

}  // namespace

SteadyGrid grid_of(const ResolvedCase& resolved, const StudyRequest& request) {
  refuse_changing_controls(resolved, request);
  SteadyGrid grid{request.altitudes, request.warmer, request.speeds, request.openings};
  if (grid.altitudes.empty()) grid.altitudes = {resolved.bike.air.altitude(0.0)};
  if (grid.warmer.empty()) grid.warmer = {own_warmer(resolved.bike)};
  if (grid.speeds.empty())
    for (int i = 0; i < 12; ++i) grid.speeds.push_back(from_per_minute(1000.0 + 500.0 * i));
  if (grid.openings.empty()) grid.openings = {0.0, 0.04, 0.08, 0.13, 0.2, 0.3, 0.4, 0.55, 0.75, 1.0};
  return grid;
}

void require_same_air(const ResolvedCase& first, const ResolvedCase& second, const StudyRequest& request) {
  const SteadyGrid a = grid_of(first, request), b = grid_of(second, request);
  constexpr double same = 0.05;  // [K]
  if (std::abs(a.warmer.front() - b.warmer.front()) > same)
    throw Error(ErrorKind::input,
                fmt::format("air.temperature: {} has air {:+.1f} K from the standard day, {} {:+.1f} K; two "
                            "machines are compared in the same air; give both one with --set, such as --set "
                            "\"air.temperature=15 degC\"",
                            first.name, a.warmer.front(), second.name, b.warmer.front()));
}

std::vector<PointTask> map_tasks(const std::string& case_text, const Sets& sets,
                                 const std::vector<Place>& places, const PointAccuracy& accuracy) {
  std::vector<PointTask> tasks;
  const auto base = std::make_shared<const SharedCase>(case_text, sets);
  for (const auto& place : places) tasks.push_back(steady_task(base, place, accuracy));
  return tasks;
}

void add_grid_axes(ResultFile& file, const SteadyGrid& grid) {
  file.axes.push_back({"altitude", "m", "altitude", grid.altitudes});
  file.axes.push_back({"warmer", "K", "air warmer than a standard day", grid.warmer});
  file.axes.push_back({"speed", "rad/s", "crankshaft speed, held", grid.speeds});
  file.axes.push_back({"throttle", "1", "throttle opening", grid.openings});
}

void add_maps(ResultFile& file, const std::vector<SteadyFigures>& figures, const std::string& more,
              const std::string& prefix) {
  std::vector<std::string> axes{"altitude", "warmer", "speed", "throttle"};
  if (!more.empty()) axes.insert(axes.begin(), more);
  for (const auto& column : steady_columns) {
    ResultVariable v{prefix + column.name, column.unit, column.long_name, axes, {}};
    for (const auto& f : figures) v.values.push_back(f.*column.value);
    file.variables.push_back(std::move(v));
  }
}

Chart grid_chart(const SteadyGrid& grid, const std::string& name, const std::string& title) {
  Chart chart;
  chart.name = name;
  chart.title = title;
  chart.kind = ChartKind::cells;
  chart.x_label = "throttle opening [%]";
  chart.y_label = "speed [rpm]";
  for (const double o : grid.openings) chart.cells.columns.push_back(fmt::format("{:.3g}", o * 100.0));
  for (const double s : grid.speeds) chart.cells.rows.push_back(fmt::format("{:.0f}", per_minute(s)));
  return chart;
}

Chart lambda_chart(const SteadyGrid& grid, const std::vector<SteadyFigures>& figures, std::size_t altitude,
                   const std::string& name, const std::string& title, std::size_t warmer) {
  Chart chart = grid_chart(grid, name, title);
  auto& c = chart.cells;
  c.low = 0.7;
  c.middle = 0.92;
  c.high = 1.2;
  c.meaning = "in-cylinder lambda";
  for (std::size_t s = 0; s < grid.speeds.size(); ++s)
    for (std::size_t o = 0; o < grid.openings.size(); ++o) {
      const auto& f = figures[grid.index(altitude, warmer, s, o)];
      c.values.push_back(no_fuel(f.trapped) ? INFINITY : f.trapped);
      add_marks(chart, f, static_cast<double>(o), static_cast<double>(s));
    }
  chart.caption =
      "In-cylinder lambda by speed and throttle. Blue is rich, orange is lean. Framed and marked with !: "
      "beyond the lean limit for its load.";
  return chart;
}

ResultFile new_result(const ResolvedCase& resolved, const StudyRequest& request) {
  ResultFile file;
  file.title = resolved.title.empty() ? resolved.name : resolved.title;
  file.version = program_version();
  file.study = request.study;
  file.inputs = request_json(request);
  file.case_resolved = resolved.text;
  return file;
}

}  // namespace glassbowl::sim
