#include <cmath>
#include <string>

#include "sim/validation/engine_runs.hpp"
#include "sim/validation/engine_topics.hpp"

/// The shipped 750 twin at altitude on a standard day, 3,500 rpm: mixture restored, and with the same jets.
namespace glassbowl::validation {
namespace {

struct Height {
  double metres, sigma;  ///< air density over that at sea level, US Standard Atmosphere 1976
};
constexpr Height heights[] = {
    {0.0, 1.0}, {609.6, 0.94277}, {1219.2, 0.88809}, {2000.0, 0.82162}, {3048.0, 0.73848}};

std::string place(const Height& h) {
  return " at " + std::to_string(static_cast<int>(h.metres)) + " m";
}

void mixture_restored(std::vector<Row>& rows, const std::vector<Steady>& runs) {
  const auto add = [&](const std::string& what, const Source& source, double published, double computed,
                       const Tolerance& tolerance) {
    rows.push_back({"altitude", what, source, published, computed, tolerance, "-", {}});
  };
  const Source farrar{"Gagg & Farrar, SAE Transactions 29, 1934", "1.132 sigma - 0.132", Seen::computed};
  const Source naca{"NACA Report 46, 1919", "indicated power proportional to density", Seen::in_source};
  const Source rule{"", "3 % per 1,000 ft, jets changed", Seen::common_practice};
  const auto law = relative(0.02, "engines differ in friction");
  for (std::size_t i : {2u, 4u}) {
    const double brake = runs[i].brake / runs[0].brake;
    add("brake torque, lambda 0.88, over sea level" + place(heights[i]), farrar,
        1.132 * heights[i].sigma - 0.132, brake, law);
    add("indicated torque, lambda 0.88, over sea level" + place(heights[i]), naca, heights[i].sigma,
        runs[i].indicated / runs[0].indicated, law);
    add("brake torque, lambda 0.88, over sea level" + place(heights[i]), rule,
        1.0 - 0.03 * heights[i].metres / 304.8, brake, law);
  }
  const double at_4000_ft = runs[2].brake / runs[0].brake;
  add("brake torque, lambda 0.88, over sea level at 1219 m",
      {"SAE J1349", "power correction, later issue", Seen::computed}, 0.8562, at_4000_ft, law);
  add("brake torque, lambda 0.88, over sea level at 1219 m", {"ISO 1585", "power correction", Seen::computed},
      0.8529, at_4000_ft, law);
}

void same_jets(std::vector<Row>& rows, const std::vector<Steady>& part, const std::vector<Steady>& full,
               const std::vector<Steady>& restored) {
  const Source law{"Rajput, A Textbook of Internal Combustion Engines, ch. 11",
                   "p. 407, air-fuel ratio with the root of air density", Seen::in_source};
  const std::string cause =
      "the slow circuit and the bleed air follow laws of their own, and in colder air the throat's Mach "
      "number "
      "is a little greater";
  for (std::size_t i = 1; i < part.size(); ++i) {
    rows.push_back({"altitude",
                    "lambda, same jets, 60 % throttle, over sea level" + place(heights[i]),
                    law,
                    std::sqrt(heights[i].sigma),
                    part[i].lambda / part[0].lambda,
                    relative(0.02, "the law is for turbulent jets and an incompressible throat"),
                    "-",
                    {}});
    rows.push_back({"altitude", "lambda, same jets, full throttle, over sea level" + place(heights[i]), law,
                    std::sqrt(heights[i].sigma), full[i].lambda / full[0].lambda,
                    relative(0.02, "the law is for turbulent jets and an incompressible throat"), "-",
                    stated_if(i == 4, cause, 0.04)});
  }
  // Torque that the wrong mixture costs beyond density.
  const auto extra = [&](std::size_t i) {
    return 100.0 * (1.0 - full[i].brake / full[0].brake / (restored[i].brake / restored[0].brake));
  };
  const auto small = in_range(-1.0, 1.0), more = in_range(1.5, 4.0);
  const Source torque{std::string("Crossley & Cook, IEE Control '91, 1991"),
                      "torque over mixture, richened by the root of density", Seen::computed};
  rows.push_back({"altitude",
                  "torque lost to the same jets at 1219 m, full throttle",
                  torque,
                  small.middle,
                  extra(2),
                  small.tolerance,
                  "%",
                  {}});
  rows.push_back({"altitude",
                  "torque lost to the same jets at 3048 m, full throttle",
                  torque,
                  more.middle,
                  extra(4),
                  more.tolerance,
                  "%",
                  {}});
  rows.push_back(
      {"altitude",
       "torque lost to the same jets at 1219 m, full throttle",
       {"", "road bikes are ridden to 4,000 ft without changing jets: within 3 %", Seen::common_practice},
       0.0,
       extra(2),
       absolute(3.0, "what a rider does not feel"),
       "%",
       {}});
}

void trade_rules(std::vector<Row>& rows, const sim::Bike<double>& bike,
                 const std::vector<Operating>& full_points, const std::vector<Steady>& full) {
  auto smaller = bike, larger = bike, higher = bike;
  smaller.carburetor.main.main_jet.bore *= 0.97076;  // sigma to the power of 1/4 at 1219 m
  larger.carburetor.main.main_jet.bore *= 1.03;
  higher.carburetor.bowl.level += 1e-3;
  std::vector<Steady> runs(3);
  in_parallel(3, [&](std::size_t i) {
    runs[i] =
        i == 0 ? run_steady(smaller, full_points[2]) : run_steady(i == 1 ? larger : higher, full_points[0]);
  });
  rows.push_back(
      {"altitude",
       "lambda at 1219 m with the main jet's bore down by the fourth root of density, over sea level",
       {"jet area as the root of density", "", Seen::derived},
       1.0,
       runs[0].lambda / full[0].lambda,
       absolute(0.02, "as for the root of density; the slow circuit keeps its jet"),
       "-",
       {"the jet shares the drop with the emulsion nozzle and the fuel with the slow circuit, so 3 % of "
        "bore moves the mixture by 4 % instead of 6 %; the mixture stays rich",
        0.04}});
  rows.push_back({"altitude",
                  "lambda with a main jet 3 % wider, full throttle, over the fitted one's",
                  {"", "fuel goes with the square of the bore", Seen::common_practice},
                  1.0 / (1.03 * 1.03),
                  runs[1].lambda / full[0].lambda,
                  absolute(0.02, "one jet among others"),
                  "-",
                  {}});
  rows.push_back({"altitude",
                  "lambda with the float level 1 mm higher, full throttle, over the fitted one's",
                  {"", "the level does not matter at full throttle", Seen::common_practice},
                  1.0,
                  runs[2].lambda / full[0].lambda,
                  absolute(0.01, "what cannot be told on the road"),
                  "-",
                  {}});
}

}  // namespace

void check_altitude(std::vector<Row>& rows) {
  const auto bike = shipped_bike("mule_750");
  std::vector<Operating> points;
  for (const Height& h : heights) {
    Operating at;
    at.altitude = h.metres;
    at.ideal_lambda = 0.88;
    points.push_back(at);
  }
  const auto carbureted = [&](double throttle) {
    auto out = points;
    for (Operating& at : out) {
      at.ideal_lambda = 0.0;
      at.throttle = throttle;
      at.settle = 3.0;  // the wall film's time is below a second
      at.cycles = 12;
    }
    return out;
  };
  const auto restored = run_points(bike, points);
  const auto part = run_points(bike, carbureted(0.6));
  const auto full_points = carbureted(1.0);
  const auto full = run_points(bike, full_points);
  mixture_restored(rows, restored);
  same_jets(rows, part, full, restored);
  trade_rules(rows, bike, full_points, full);
}

}  // namespace glassbowl::validation
