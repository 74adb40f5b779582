#include "models/throat/throttle_plate.hpp"

#include <cmath>
#include <string>

#include "models/constants.hpp"
#include "models/fuel/transfer_ports.hpp"
#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;
namespace {

constexpr double degree = 3.14159265358979323846 / 180.0;

m::ThrottlePlate<> plate(double bore, double shaft_ratio, double closed_deg) {
  m::ThrottlePlate<> p;
  p.bore = bore;
  p.shaft = shaft_ratio * bore;
  p.closed_angle = closed_deg * degree;
  return p;
}

std::string angle(double deg) {
  return std::to_string(static_cast<int>(deg)) + " deg";
}

/// Loss coefficient on the bore's velocity: ζ = (A/A_e)².
double loss_coefficient(const m::ThrottlePlate<>& p, double psi) {
  const double bore_area = 0.25 * 3.14159265358979323846 * p.bore * p.bore;
  const double ratio = bore_area / m::throttle_effective_area(p, psi);
  return ratio * ratio;
}

}  // namespace

void check_throttle_plate(std::vector<Row>& rows) {
  const Source heywood{"Heywood, Internal Combustion Engine Fundamentals, 1988", "eqs. 7.18-7.20",
                       Seen::computed};
  struct Area {
    double closed, shaft, psi, fraction;
  };
  for (const Area& a :
       {Area{0, 0.0, 30, 0.13397}, Area{8, 0.0, 15, 0.02458}, Area{8, 0.2, 15, 0.02449},
        Area{8, 0.2, 45, 0.28428}, Area{8, 0.2, 75, 0.71265}, Area{8, 0.2, 90, 0.74706},
        Area{10, 0.25, 12, 0.00672}, Area{10, 0.25, 60, 0.48226}, Area{10, 0.25, 90, 0.68504}})
    rows.push_back({"throttle_plate",
                    "open fraction at " + angle(a.psi) + ", closed " + angle(a.closed) + ", shaft/bore " +
                        std::to_string(a.shaft).substr(0, 4),
                    heywood,
                    a.fraction,
                    m::throttle_open_fraction(plate(0.034, a.shaft, a.closed), a.psi * degree),
                    absolute(1e-5, "printed digits"),
                    "-",
                    {}});

  // Weisbach counts the angle from the pipe's axis; contraction 0.65, no shaft, no leak.
  struct Loss {
    double from_axis, zeta;
    Seen seen;
  };
  for (const Loss& l :
       {Loss{20, 1.54, Seen::in_source}, Loss{25, 2.51, Seen::from_memory}, Loss{30, 3.91, Seen::from_memory},
        Loss{35, 6.22, Seen::from_memory}, Loss{40, 10.8, Seen::in_source}, Loss{45, 18.7, Seen::from_memory},
        Loss{50, 32.6, Seen::from_memory}, Loss{60, 118, Seen::in_source},
        Loss{65, 256, Seen::from_memory}}) {
    auto p = plate(0.036, 0.0, 0.0);
    p.contraction = 0.65;
    p.leak_area = 0.0;
    rows.push_back(
        {"throttle_plate",
         "loss coefficient of a butterfly at " + angle(l.from_axis) + " from open",
         {"Weisbach, Lehrbuch der Ingenieur- und Maschinenmechanik (in handbooks since)",
          "butterfly valve table", l.seen},
         l.zeta,
         loss_coefficient(p, (90.0 - l.from_axis) * degree),
         relative(0.15, "one contraction for all angles; measured 0.63 to 0.70"),
         "-",
         stated_if(l.from_axis < 22,
                   "nearly open the measured contraction is 0.68 and more, the model keeps 0.65; a "
                   "plate this far open costs little",
                   0.20)});
  }

  const Source geometry{"geometry of a rigid plate in a round bore", "", Seen::derived};
  const auto p = plate(0.034, 0.0, 8.0);
  struct Edge {
    double psi, position, gap;
  };
  for (const Edge& e : {Edge{10, 2.9810, 0.0937}, Edge{15, 4.4432, 0.4179}}) {
    rows.push_back({"throttle_plate",
                    "edge position of a 34 mm plate at " + angle(e.psi),
                    geometry,
                    e.position,
                    1000.0 * m::throttle_edge_position(p, e.psi * degree),
                    absolute(1e-4, "printed digits"),
                    "mm",
                    {}});
    rows.push_back({"throttle_plate",
                    "edge gap at " + angle(e.psi),
                    geometry,
                    e.gap,
                    1000.0 * m::throttle_edge_gap(p, e.psi * degree),
                    absolute(1e-4, "printed digits"),
                    "mm",
                    {}});
  }

  struct Port {
    double depth, area;
  };
  for (const Port& q : {Port{0.1, 0.03626}, Port{0.2, 0.09827}, Port{0.4, 0.25133}, Port{0.6, 0.40439}}) {
    const m::TransferPort<double> port{0.010, 0.8e-3};
    const double share = m::port_exposure(port, 0.010 - 0.4e-3 + q.depth * 1e-3);
    rows.push_back({"transfer_ports",
                    "area of a 0.8 mm port exposed " + std::to_string(q.depth).substr(0, 3) + " mm",
                    {"segment of a circle", "", Seen::derived},
                    q.area,
                    share * 0.25 * 3.14159265358979323846 * 0.64,
                    absolute(1e-5, "printed digits"),
                    "mm2",
                    {}});
  }
}

}  // namespace glassbowl::validation
