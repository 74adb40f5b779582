#include <cmath>
#include <string>

#include "models/fuel/jet.hpp"
#include "sim/validation/solve.hpp"
#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;
namespace {

/// Discharge coefficient of the program's jet at the Reynolds number of the real mean velocity.
double discharge_at_real_velocity(double reynolds, double length_over_bore) {
  const double ideal =
      find_root([&](double re) { return re * m::jet_discharge(re, length_over_bore) - reynolds; }, 1.0, 1e7);
  return m::jet_discharge(ideal, length_over_bore);
}

std::string whole(double x) {
  return std::to_string(static_cast<int>(x));
}

}  // namespace

void check_jet_discharge(std::vector<Row>& rows) {
  const std::string lichtarowicz = "Lichtarowicz, Duggins & Markland, J. Mech. Eng. Sci. 7(2) 1965, 210-219";
  struct Point {
    double length, reynolds, Cd;
    Seen seen;
  };
  for (const Point& q :
       {Point{2, 10, 0.0817, Seen::in_source}, Point{2, 100, 0.4284, Seen::in_source},
        Point{2, 1000, 0.7446, Seen::in_source}, Point{2, 1e4, 0.8081, Seen::in_source},
        Point{3, 30, 0.1559, Seen::computed_seen}, Point{3, 500, 0.6426, Seen::computed_seen},
        Point{5, 300, 0.4785, Seen::computed_seen}, Point{5, 5000, 0.7685, Seen::computed_seen},
        Point{10, 100, 0.1654, Seen::computed_seen}, Point{10, 2000, 0.6384, Seen::computed_seen},
        Point{10, 2e4, 0.7392, Seen::computed_seen}})
    rows.push_back({"jet",
                    "discharge at l/d " + whole(q.length) + ", Re " + whole(q.reynolds),
                    {lichtarowicz, "eq. 12", q.seen},
                    q.Cd,
                    m::jet_discharge(q.reynolds, q.length),
                    absolute(1e-4, "printed digits"),
                    "-",
                    {}});
  rows.push_back({"jet",
                  "ultimate discharge at l/d 1.7",
                  {lichtarowicz, "eq. 7", Seen::in_source},
                  0.810,
                  m::ultimate_discharge(1.7),
                  absolute(5e-4, "printed digits"),
                  "-",
                  {}});
  rows.push_back({"jet",
                  "discharge at l/d 2, Re 160",
                  {lichtarowicz, "fig. 10", Seen::in_source},
                  0.5,
                  m::jet_discharge(160.0, 2.0),
                  absolute(0.03, "0.02 of the equation, and the figure read to 10 in Re"),
                  "-",
                  {}});

  // Flow of drilled holes in gasoline, 745 kg/m³, 0.55 mm²/s.
  struct Hole {
    double bore, length, drop, flow;
  };
  for (const Hole& h : {Hole{1.20e-3, 2.5e-3, 3000, 1.923}, Hole{0.40e-3, 1.2e-3, 2000, 0.1624},
                        Hole{0.45e-3, 1.2e-3, 500, 0.0988}, Hole{1.00e-3, 2.0e-3, 300, 0.404}}) {
    const m::Jet<> jet{h.bore, h.length, 0.0, 0.0};
    const std::string name = std::to_string(h.bore * 1000).substr(0, 4) + " mm jet";
    const Source source{lichtarowicz, "eq. 12 with gasoline", Seen::computed_seen};
    rows.push_back({"jet",
                    name + " under " + whole(h.drop) + " Pa",
                    source,
                    h.flow,
                    1000.0 * m::jet_flow(jet, h.drop, 745.0, 0.55e-6),
                    relative(1e-3, "printed digits"),
                    "g/s",
                    {}});
    rows.push_back({"jet",
                    "pressure loss of a " + name + " at that flow",
                    source,
                    h.drop,
                    m::jet_loss(jet, h.flow / 1000.0, 745.0, 0.55e-6),
                    relative(2e-3, "twice the flow's printed digits; inverse good to 0.1 %"),
                    "Pa",
                    {}});
  }
  rows.push_back({"jet",
                  "bore read from a flow rating of 1.923 g/s under 3000 Pa",
                  {lichtarowicz, "eq. 12 with gasoline", Seen::computed_seen},
                  1.20,
                  1000.0 * m::bore_from_flow_rating(1.923e-3 / 745.0, 3000.0 / (745.0 * 9.80665), 2.5e-3,
                                                    745.0, 0.55e-6),
                  relative(1e-3, "printed digits"),
                  "mm",
                  {}});

  // Other people's correlations, over the Reynolds number of the real velocity.
  const std::string asihmin = "Asihmin et al. 1961, in Lefebvre, Atomization and Sprays, 1989";
  const auto both = absolute(0.03, "0.02 of the program's source and 1.5 % of the other, added");
  rows.push_back({"jet",
                  "discharge at l/d 2, real Re 1000",
                  {asihmin, "", Seen::computed},
                  0.7429,
                  discharge_at_real_velocity(1000, 2),
                  both,
                  "-",
                  {}});
  rows.push_back({"jet",
                  "discharge at l/d 2, real Re 10000",
                  {asihmin, "", Seen::computed},
                  0.8054,
                  discharge_at_real_velocity(1e4, 2),
                  both,
                  "-",
                  {}});
  rows.push_back(
      {"jet",
       "discharge at l/d 5, real Re 1000",
       {asihmin, "", Seen::computed},
       0.6579,
       discharge_at_real_velocity(1000, 5),
       both,
       "-",
       {"the two correlations part at low Reynolds number in long jets by more than they claim", 0.045}});
  const std::string hall = "Hall, J. Mech. Eng. Sci. 5(1) 1963, 91";
  rows.push_back({"jet",
                  "discharge at l/d 3, real Re 10000",
                  {hall, "turbulent form", Seen::computed},
                  0.7716,
                  discharge_at_real_velocity(1e4, 3),
                  both,
                  "-",
                  {}});
  const std::string nakayama = "Nakayama, Bull. JSME 4, 1961";
  rows.push_back({"jet",
                  "discharge at l/d 3, real Re 7000",
                  {nakayama, "", Seen::computed},
                  0.7934,
                  discharge_at_real_velocity(7000, 3),
                  both,
                  "-",
                  {}});
  rows.push_back({"jet",
                  "discharge at l/d 3, real Re 1000",
                  {nakayama, "", Seen::computed},
                  0.6789,
                  discharge_at_real_velocity(1000, 3),
                  both,
                  "-",
                  {"Nakayama's fit lies below Lichtarowicz and Asihmin between Re 600 and 3000; the authors "
                   "measured different jets",
                   0.08}});
  const std::string idelchik = "Idelchik, Handbook of Hydraulic Resistance, diagram 4-15";
  rows.push_back({"jet",
                  "discharge of a thick orifice of l/d 2",
                  {idelchik, "", Seen::computed},
                  0.801,
                  m::jet_discharge(1e5, 2.0),
                  absolute(0.02, "scatter stated by the program's source"),
                  "-",
                  {}});
  rows.push_back({"jet",
                  "discharge of a thick orifice of l/d 4",
                  {idelchik, "", Seen::computed},
                  0.796,
                  m::jet_discharge(1e5, 4.0),
                  absolute(0.02, "scatter stated by the program's source"),
                  "-",
                  {}});
  const auto measured = in_range(0.62, 0.88);
  rows.push_back({"jet",
                  "discharge of small round holes, l/d 2, Re 3000",
                  {"Joachim, NACA Report 224, 1926", "test range", Seen::in_source},
                  measured.middle,
                  m::jet_discharge(3000.0, 2.0),
                  measured.tolerance,
                  "-",
                  {}});
}

}  // namespace glassbowl::validation
