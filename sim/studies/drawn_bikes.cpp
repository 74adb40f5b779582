#include "sim/studies/drawn_bikes.hpp"

#include <fmt/format.h>

#include "models/constants.hpp"
#include "sim/api/error.hpp"

namespace glassbowl::sim {

DrawnBikes::DrawnBikes(const ResolvedCase& resolved, int count, std::uint64_t seed)
    : values_(uncertain_values(resolved)) {
  if (values_.empty()) return;
  for (auto& score : normal_scores(static_cast<std::size_t>(count), values_.size(), seed)) {
    Sets sets;
    for (std::size_t i = 0; i < values_.size(); ++i) sets.push_back(values_[i].drawn(score[i]));
    auto bike = std::make_shared<const SharedCase>(resolved.text, std::move(sets));
    try {
      bike->resolved();
    } catch (const Error& failure) {
      if (failure.kind() == ErrorKind::file) throw;
      ++refused_;
      continue;
    }
    scores_.push_back(std::move(score));
    bikes_.push_back(std::move(bike));
  }
}

std::vector<PointTask> DrawnBikes::tasks(const std::vector<Place>& places,
                                         const PointAccuracy& accuracy) const {
  std::vector<PointTask> out;
  for (std::size_t b = 0; b < bikes_.size(); ++b)
    for (const Place& place : places) {
      PointTask task = steady_task(bikes_[b], place, accuracy);
      task.batch = bikes_.data();  // any order among all bikes would do
      task.name = fmt::format("{:.0f} rpm, {:.3g} % throttle, {:.0f} m, drawn bike {}",
                              place.speed * 30.0 / models::constants::pi, place.opening * 100.0,
                              place.altitude, b + 1);
      out.push_back(std::move(task));
    }
  return out;
}

}  // namespace glassbowl::sim
