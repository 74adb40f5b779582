#include <string>

#include "models/engine/valve_lift.hpp"
#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;

void check_valve(std::vector<Row>& rows) {
  const std::string heywood = "Heywood, Internal Combustion Engine Fundamentals, 1988";
  struct Lift {
    double ratio, Cd;
  };
  for (const Lift& l : {Lift{0.05, 0.68}, Lift{0.10, 0.68}, Lift{0.15, 0.64}, Lift{0.20, 0.58},
                        Lift{0.25, 0.52}, Lift{0.30, 0.46}, Lift{0.35, 0.41}})
    rows.push_back(
        {"valve_lift",
         "intake discharge on curtain area at lift/diameter " + std::to_string(l.ratio).substr(0, 4),
         {heywood, "fig. 6-18", Seen::from_memory},
         l.Cd,
         m::valve_discharge(l.ratio),
         relative(0.05, "half of the figure's scatter of 10 %"),
         "-",
         stated_if(l.ratio > 0.33,
                   "the parabola falls faster than the figure at the greatest lifts, where the port limits "
                   "the flow anyway",
                   0.12)});

  // Mean flow coefficient over the open period, on the area of the head.
  m::Valve<> valve;
  const double pi = 3.14159265358979323846, head = 0.25 * pi * valve.diameter * valve.diameter;
  double sum = 0.0;
  const int n = 2000;
  for (int i = 0; i < n; ++i) {
    const double theta = valve.opens + (valve.closes - valve.opens) * (i + 0.5) / n;
    sum += m::valve_effective_area(valve, m::valve_lift(valve, theta));
  }
  const std::string low_lift =
      "the default valve lifts 0.22 of its diameter along a sine square, which dwells less than a cam of the "
      "same duration; Taylor's engines lift 0.25 and dwell longer";
  const auto taylor = in_range(0.30, 0.40);
  rows.push_back({"valve_lift",
                  "mean inlet flow coefficient of the default valve",
                  {"Taylor, The Internal-Combustion Engine in Theory and Practice, vol. 1",
                   "mean inlet flow coefficient 0.30 to 0.40", Seen::from_memory},
                  taylor.middle,
                  sum / n / head,
                  taylor.tolerance,
                  "-",
                  {low_lift, 0.10}});
  rows.push_back({"valve_lift",
                  "mean inlet flow coefficient of the default valve",
                  {"Rajput, A Textbook of Internal Combustion Engines, ch. 7", "p. 256", Seen::in_source},
                  0.33,
                  sum / n / head,
                  relative(0.10, "one engine's value"),
                  "-",
                  {low_lift, 0.25}});
}

}  // namespace glassbowl::validation
