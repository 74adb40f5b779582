#include "models/throat/choke_plate.hpp"

#include <string>

#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;

void check_choke_plate(std::vector<Row>& rows) {
  m::ChokePlate<> choke;
  const double bore_area = 0.25 * 3.14159265358979323846 * choke.bore * choke.bore;
  const Source practice{"", "closed plate passes 3 to 8 % of the bore, relief included",
                        Seen::common_practice};
  const auto residual = in_range(3.0, 8.0);
  rows.push_back({"choke_plate",
                  "area of the shut plate over the bore, relief shut",
                  practice,
                  residual.middle,
                  100.0 * m::choke_effective_area(choke, 1.0, 0.0) / choke.discharge / bore_area,
                  residual.tolerance,
                  "%",
                  {}});
  rows.push_back(
      {"choke_plate",
       "area of the shut plate over the bore, relief half open",
       practice,
       residual.middle,
       100.0 * m::choke_effective_area(choke, 1.0, choke.relief_pressure) / choke.discharge / bore_area,
       residual.tolerance,
       "%",
       {}});

  // Part shut it is a butterfly. Angle from open = closure times 90 deg.
  choke.closed_area = 0.0;
  choke.relief_area = 0.0;
  struct Loss {
    double from_axis, zeta;
    Seen seen;
  };
  for (const Loss& l : {Loss{20, 1.54, Seen::in_source}, Loss{30, 3.91, Seen::from_memory},
                        Loss{45, 18.7, Seen::from_memory}, Loss{60, 118, Seen::in_source}}) {
    const double ratio = bore_area / m::choke_effective_area(choke, l.from_axis / 90.0, 0.0);
    rows.push_back(
        {"choke_plate",
         "loss coefficient of a butterfly at " + std::to_string(static_cast<int>(l.from_axis)) +
             " deg from open",
         {"Weisbach, Lehrbuch der Ingenieur- und Maschinenmechanik (in handbooks since)",
          "butterfly valve table", l.seen},
         l.zeta,
         ratio * ratio,
         relative(0.15, "as for the throttle: one contraction for all angles"),
         "-",
         stated_if(
             l.from_axis < 22,
             "nearly open the measured contraction is 0.68 and more, the model keeps 0.65; what an open "
             "choke loses is small beside the throat",
             0.20)});
  }
}

}  // namespace glassbowl::validation
