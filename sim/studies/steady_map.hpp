#pragma once

#include "sim/studies/study.hpp"

namespace glassbowl::sim {

/// Steady points over altitude, warmth, speed and throttle opening.
struct SteadyGrid {
  std::vector<double> altitudes, warmer, speeds, openings;  ///< as in StudyRequest
  std::size_t size() const { return altitudes.size() * warmer.size() * speeds.size() * openings.size(); }
  std::size_t index(std::size_t a, std::size_t w, std::size_t s, std::size_t o) const {
    return ((a * warmer.size() + w) * speeds.size() + s) * openings.size() + o;
  }
  Place place(std::size_t i) const;
  std::vector<Place> places() const;
};

/// The grid that a request names; defaults: altitude and air temperature of the case, 12 speeds, 10 openings.
/// The temperature of a case counts as its difference from the standard day, the same at every altitude;
/// `warmer` of a request replaces that difference.
/// Errors  Error{input} where the case changes its choke or tap over time, or its altitude and the request
///   names none: a steady point has one value of each.
SteadyGrid grid_of(const ResolvedCase& resolved, const StudyRequest& request);

/// Two machines are compared in the same air, as the first one's grid says. Throws Error{input} where the
/// second case has another air temperature or changes over time what a point holds.
void require_same_air(const ResolvedCase& first, const ResolvedCase& second, const StudyRequest& request);

std::vector<PointTask> map_tasks(const std::string& case_text, const Sets& sets,
                                 const std::vector<Place>& places, const PointAccuracy& accuracy);

/// Axes and all figures of one map, or of several along an axis of their own (`more`, slowest).
void add_grid_axes(ResultFile& file, const SteadyGrid& grid);
void add_maps(ResultFile& file, const std::vector<SteadyFigures>& figures, const std::string& more = "",
              const std::string& prefix = "");

/// Speed and opening as axes of cells that are still without values.
Chart grid_chart(const SteadyGrid& grid, const std::string& name, const std::string& title);

/// In-cylinder lambda over speed and opening at one altitude and warmth, with the marks of its points.
Chart lambda_chart(const SteadyGrid& grid, const std::vector<SteadyFigures>& figures, std::size_t altitude,
                   const std::string& name, const std::string& title, std::size_t warmer = 0);

/// A file with all that every study keeps.
ResultFile new_result(const ResolvedCase& resolved, const StudyRequest& request);

}  // namespace glassbowl::sim
