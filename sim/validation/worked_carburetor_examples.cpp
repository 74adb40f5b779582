#include <cmath>
#include <string>

#include "models/engine/crank_geometry.hpp"
#include "models/fuel/main_circuit.hpp"
#include "models/gas/volume.hpp"
#include "sim/validation/solve.hpp"
#include "sim/validation/textbook_laws.hpp"
#include "sim/validation/topics.hpp"

/// Worked examples of textbooks, from their givens to their printed answers. Answers as printed by the book
/// or its public companion notebooks; tolerances are half of the last printed digit, and 0.05 % because books
/// round g, R and cp. "incompressible" rows run the program's laws where nothing compresses; the others are
/// compressible.
namespace glassbowl::validation {
namespace m = glassbowl::models;
namespace {

const std::string rajput = "Rajput, A Textbook of Internal Combustion Engines, ch. 11";
const std::string mathur = "Mathur & Sharma, Internal Combustion Engine, ch. 11";
const std::string gupta = "Gupta, Fundamentals of Internal Combustion Engines, ch. 9";
const std::string keswani = "Keswani, Internal Combustion Engines, ch. 9";
const std::string ramalingam = "Ramalingam, Thermal Engineering";

constexpr double hour = 3600.0, minute = 60.0;

void add(std::vector<Row>& rows, const std::string& what, const std::string& work, const std::string& page,
         double published, double computed, double digits, const std::string& unit,
         const Disagreement& stated = {}) {
  rows.push_back({"worked_examples",
                  what,
                  {work, page, Seen::in_source},
                  published,
                  computed,
                  absolute(digits + 5e-4 * std::abs(published),
                           "half of the last printed digit, and 0.05 % for g, R and cp rounded in the book"),
                  unit,
                  stated});
}

/// Air that a four-stroke engine draws [kg/s].
double engine_air(double cylinders, double bore, double stroke, double rpm, double filling, double rho) {
  const double swept = m::displacement(m::CrankGeometry<>{bore, stroke, 2.0 * stroke, 9.0});
  return cylinders * swept * rpm / 120.0 * filling * rho;
}

/// Drop [Pa] that a fuel flow needs through a jet of CdA, the lip's head added.
double drop_for_fuel(double fuel_flow, double CdA, double rho, double lip) {
  return find_root([&](double dp) { return incompressible_flow(CdA, dp, rho) - fuel_flow; }, 1.0, 1e5) +
         head_of_fuel(lip, rho);
}

/// Air speed at which fuel starts over a lip: the main circuit's onset, air not compressing.
double onset_speed(double lip, double rho_air, double rho_fuel) {
  m::MainCircuit<> c;
  c.lip = lip;
  m::MainCircuitBoundary<double> b{};
  b.bowl_pressure = b.air_pressure = 101325.0;
  b.nozzle_area = 1e-5;
  b.fuel_density = rho_fuel;
  b.fuel_viscosity = 0.55e-6;
  b.air_density = rho_air;
  b.response = 1e-3;
  auto state = m::main_circuit_at_rest(c, 0.0, rho_fuel);
  state.riser = rho_fuel * m::riser_area(c) * (c.lip - c.foot);
  const double depression = find_root(
      [&](double dp) {
        b.nozzle_pressure = 101325.0 - dp;
        return m::evaluate_main_circuit(c, state, b).rate.riser_flow;
      },
      0.0, 1000.0);
  return find_root(
      [&](double v) { return incompressible_depression(rho_air * v, rho_air, 1.0) - depression; }, 0.1,
      100.0);
}

/// Givens of the compressible examples: air flow, fuel flow, state, throat speed.
struct Throat {
  double air_flow;   ///< [kg/s]
  double fuel_flow;  ///< [kg/s]
  Air air;
  double speed;              ///< [m/s] real
  double speed_coefficient;  ///< real over ideal speed
  double fuel_density, jet_Cd;
  double jet_share;  ///< drop at the jet over that at the throat
  double gamma = 1.4;

  double drop() const { return drop_for_speed(air, speed / speed_coefficient, gamma); }
  double throat_mm() const {
    return 1000.0 * bore_of_area(air_flow / (speed_coefficient * mass_flux(air, drop(), gamma)));
  }
  double jet_mm() const { return 1000.0 * jet_bore(fuel_flow, jet_share * drop(), fuel_density, jet_Cd); }
};

/// Air-fuel ratio of a simple carburetor, incompressible.
double simple_ratio(double throat, double jet, double Cda, double Cdf, double rho_air, double rho_fuel,
                    double drop, double lip) {
  return incompressible_flow(Cda * area_of_bore(throat), drop, rho_air) /
         incompressible_flow(Cdf * area_of_bore(jet), drop - head_of_fuel(lip, rho_fuel), rho_fuel);
}

void simple_carburetors(std::vector<Row>& rows) {
  struct Simple {
    std::string id, work, page;
    double throat, jet, Cda, Cdf, lip, drop, ratio, ratio_lip, speed, ratio_digits, lip_digits, speed_digits;
  };
  const Simple all[] = {{"throat 18, jet 1.2 mm, 6.5 kPa", rajput, "ex. 11.9, p. 405", 0.018, 1.2e-3, 0.82,
                         0.65, 6e-3, 6500, 11.35, 11.39, 8.58, 0.005, 0.005, 0.005},
                        {"throat 20, jet 1.25 mm, 7 kPa", mathur, "ex. 11.8, p. 278", 0.020, 1.25e-3, 0.85,
                         0.66, 5e-3, 7000, 13.2, 13.223, 7.83, 0.05, 0.0005, 0.005},
                        {"throat 22, jet 1.2 mm, 7.5 kPa", gupta, "ex. 9.6, p. 287", 0.022, 1.2e-3, 0.82,
                         0.70, 4e-3, 7500, 15.75, 15.78, 7.00, 0.005, 0.005, 0.005}};
  for (const Simple& s : all) {
    add(rows, s.id + ": air-fuel ratio without lip (incompressible)", s.work, s.page, s.ratio,
        simple_ratio(s.throat, s.jet, s.Cda, s.Cdf, 1.2, 750.0, s.drop, 0.0), s.ratio_digits, "-");
    add(rows, s.id + ": air-fuel ratio with lip (incompressible)", s.work, s.page, s.ratio_lip,
        simple_ratio(s.throat, s.jet, s.Cda, s.Cdf, 1.2, 750.0, s.drop, s.lip), s.lip_digits, "-");
    add(rows, s.id + ": air speed at which fuel starts (incompressible)", s.work, s.page, s.speed,
        onset_speed(s.lip, 1.2, 750.0), s.speed_digits, "m/s");
  }
  add(rows, "throat over jet diameter at air-fuel ratio 15 (incompressible)", keswani, "ex. 9.3, p. 193",
      17.4,
      find_root(
          [](double d) { return simple_ratio(d * 1e-3, 1e-3, 0.84, 0.70, 1.28, 753.0, 2000.0, 0.0) - 15.0; },
          5.0, 50.0),
      0.05, "-");
}

void suctions_and_jets(std::vector<Row>& rows) {
  add(rows, "suction of four 100 x 120 mm at 1800 rpm, throat 28 mm (incompressible)", rajput,
      "ex. 11.1, p. 399", 4447.61,
      incompressible_depression(engine_air(4, 0.100, 0.120, 1800, 0.75, 1.2), 1.2, 0.8 * area_of_bore(0.028)),
      0.05, "Pa");
  add(rows, "suction of four 100 x 120 mm at 2000 rpm, throat 30 mm (incompressible)", mathur,
      "ex. 11.3, p. 253, companion", 0.0363,
      1e-5 * incompressible_depression(engine_air(4, 0.100, 0.120, 2000, 0.70, 1.2), 1.2,
                                       0.8 * area_of_bore(0.030)),
      5e-5, "bar");

  const double dp2 = drop_for_fuel(5.0 / hour, 0.8 * 2e-6, 750.0, 5e-3);
  add(rows, "suction for 5 kg/h through 2 mm2 (incompressible)", rajput, "ex. 11.2, p. 400", 539.13, dp2,
      0.05, "Pa");
  add(rows, "throat area for it at air-fuel ratio 16 (incompressible)", rajput, "ex. 11.2, p. 400", 7.72,
      1e4 * 16.0 * 5.0 / hour / incompressible_flow(0.8, dp2, 1.2), 0.005, "cm2");

  const auto jet_for = [](double fuel_flow, double ratio, double choke, const Air& air, double Cda,
                          double Cdf, double rho, double lip) {
    const double dp = incompressible_depression(ratio * fuel_flow, air.density(), Cda * area_of_bore(choke));
    return 1000.0 * jet_bore(fuel_flow, dp - head_of_fuel(lip, rho), rho, Cdf);
  };
  add(rows, "jet for 7.2 kg/h at ratio 15, choke 24 mm (incompressible)", rajput, "ex. 11.3, p. 401", 1.32,
      jet_for(7.2 / hour, 15, 0.024, {1.013e5, 300}, 0.8, 0.7, 750, 4.2e-3), 0.005, "mm");
  add(rows, "jet for 7.5 kg/h at ratio 15, choke 22 mm (incompressible)", mathur,
      "ex. 11.4, p. 258, companion", 1.228,
      jet_for(7.5 / hour, 15, 0.022, {1.013e5, 298}, 0.82, 0.7, 750, 4e-3), 0.0005, "mm");

  const double dp4 = drop_for_fuel(5.45 / hour, 0.75 * 2e-6, 720.0, 6.35e-3);
  add(rows, "suction for 5.45 kg/h through 2 mm2, cm of water (incompressible)", rajput, "ex. 11.4, p. 402",
      7.67, dp4 / 98.1, 0.005, "cmH2O");
  add(rows, "throat for it at ratio 15 (incompressible)", rajput, "ex. 11.4, p. 402", 2.86,
      100.0 * bore_of_area(15.0 * 5.45 / hour / incompressible_flow(0.8, dp4, 1.29)), 0.005, "cm");
  add(rows, "critical air speed over a 6.35 mm lip (incompressible)", rajput, "ex. 11.4, p. 402", 8.34,
      onset_speed(6.35e-3, 1.29, 720.0), 0.005, "m/s");

  const Air air94{1.013e5, 298};
  const double flow94 = engine_air(4, 0.100, 0.120, 3000, 0.80, air94.density());
  const double dp94 = incompressible_depression(flow94, air94.density(), 0.82 * area_of_bore(0.035));
  add(rows, "suction of four 100 x 120 mm at 3000 rpm, throat 35 mm (incompressible)", gupta,
      "ex. 9.4, p. 285", 0.054, 1e-5 * dp94, 5e-4, "bar");
  add(rows, "jet for it at ratio 15 (incompressible)", gupta, "ex. 9.4, p. 285", 1.953,
      1000.0 * jet_bore(flow94 / 15.0, dp94 - head_of_fuel(5e-3, 750), 750, 0.7), 0.0005, "mm");

  const double fuel99 = 8.0e3 / (0.30 * 44e6);
  const double dp99 = drop_for_fuel(fuel99, 0.7 * 2.5e-6, 750.0, 8e-3);
  add(rows, "throat of an 8 kW engine, ratio 15, jet 2.5 mm2 (incompressible)", gupta, "ex. 9.9, p. 291",
      2.63, 100.0 * bore_of_area(15.0 * fuel99 / incompressible_flow(0.9, dp99, 1.0 / 0.8)), 0.005, "cm");

  const double flow95 = engine_air(4, 0.0825, 0.115, 3000, 0.80, 1.29);
  const double dp95 = 150.0 * 98.1;
  add(rows, "jet of four 82.5 x 115 mm at 3000 rpm, 150 cm of water, ratio 14 (incompressible)", keswani,
      "ex. 9.5, p. 198", 1.35, 1000.0 * jet_bore(flow95 / 14.0, dp95, 700, 0.70), 0.005, "mm");

  const double dp910 = incompressible_depression(1.28 * 58.0 / 0.84, 1.28, 1.0);
  add(rows, "fuel through 1.8 mm2 at 58 m/s over a 2.8 mm lip (incompressible)", keswani, "ex. 9.10, p. 212",
      0.0023, incompressible_flow(0.6 * 1.8e-6, dp910 - head_of_fuel(2.8e-3, 750), 750), 5e-5, "kg/s");

  const Air air913{1.027 * 98066.5, 288.5};
  const double fuel913 = 6.4 / hour, rho913 = 760.0;
  const double dp913 = drop_for_fuel(fuel913, 0.6 * area_of_bore(1.27e-3), rho913, 3e-3);
  add(rows, "critical air speed over a 3 mm lip, times Ca 0.8 (incompressible)", keswani, "ex. 9.13, p. 221",
      4.85, 0.8 * onset_speed(3e-3, air913.density(), rho913), 0.005, "m/s");
  add(rows, "throat for 6.4 kg/h at fuel-air ratio 0.066 (incompressible)", keswani, "ex. 9.13, p. 221", 21.4,
      1000.0 * bore_of_area(fuel913 / 0.066 / incompressible_flow(0.8, dp913, air913.density())), 0.05, "mm");
  add(rows, "depression for it, cm of water (incompressible)", keswani, "ex. 9.13, p. 221, companion", 36.73,
      dp913 / 98.0665, 0.05, "cmH2O",
      {"the companion's integer division drops the head of the lip, 0.228 cm; with it the printed constants "
       "give 36.95",
       0.25});
}

void cleaners_and_altitude(std::vector<Row>& rows) {
  // The fuel sees the whole fall from the air outside to the throat, the air only that behind the cleaner.
  const auto with_cleaner = [](double value, double outside, double throat, double cleaner, bool fuel_air) {
    const double before = outside - throat;
    const double ratio =
        incompressible_flow(1e-6, before, 750.0) / incompressible_flow(1e-6, before + cleaner, 750.0);
    return fuel_air ? value / ratio : value * ratio;
  };
  const double mercury = 0.030 * 13600 * 9.81;
  add(rows, "air-fuel ratio with a cleaner that costs 30 mm of mercury (incompressible)", rajput,
      "ex. 11.5, p. 403", 13.69, with_cleaner(15, 1.0e5, 0.8e5, mercury, false), 0.005, "-");
  add(rows, "air-fuel ratio with a cleaner, throat 0.834 bar (incompressible)", mathur, "ex. 11.9, p. 283",
      12.66, with_cleaner(14, 1.013e5, 0.834e5, 0.04e5, false), 0.005, "-");
  add(rows, "fuel-air ratio with a cleaner of 0.04 kg/cm2 (incompressible)", keswani, "ex. 9.12, p. 219",
      0.0723, with_cleaner(0.066, 1.03, 0.83, 0.04, true), 5e-5, "-");

  // Same engine speed, so the same volume of air: 25 C at 1.013 bar against 4500 m by the example's law.
  const Air low{1.013e5, 298.0}, high{1.013e5 / std::pow(10.0, 4500.0 / 19300.0), 298.0 - 0.0064 * 4500.0};
  const auto ratio = [](const Air& air) {
    const double volume = 0.02, throat = 4e-4, rho = air.density();
    return volume * rho /
           incompressible_flow(1e-6, incompressible_depression(volume * rho, rho, throat), 750.0);
  };
  add(rows, "air-fuel ratio at 4500 m when it is 14 at sea level (incompressible)", rajput,
      "ex. 11.11, p. 407", 11.26, 14.0 * ratio(high) / ratio(low), 0.005, "-");
}

void compressible_throats(std::vector<Row>& rows) {
  const Air a300{1.013e5, 300};
  const Throat r6{4.6 / minute, 0, {1.013e5, 298}, 80, 0.8, 740, 0.6, 1.0};
  rows.push_back({"worked_examples",
                  "throat for 4.6 kg/min at 80 m/s",
                  {rajput, "ex. 11.6, p. 403", Seen::computed_seen},
                  32.78,
                  r6.throat_mm(),
                  relative(5e-4, "book prints 0.03 m; its formula worked out in full"),
                  "mm",
                  {}});
  const Throat r7{6.0 / minute, 0.45 / minute, a300, 92, 0.8, 740, 0.6, 0.75};
  add(rows, "throat for 6 kg/min at 92 m/s", rajput, "ex. 11.7, p. 404", 3.53, 0.1 * r7.throat_mm(), 0.005,
      "cm");
  add(rows, "throat for 6 kg/min at 92 m/s", mathur, "ex. 11.2, p. 248", 3.526, 0.1 * r7.throat_mm(), 0.0005,
      "cm");
  add(rows, "jet for 0.45 kg/min at it", rajput, "ex. 11.7, p. 404", 2.34, r7.jet_mm(), 0.005, "mm");
  const Throat m1{5.0 / minute, 0.4 / minute, a300, 90, 0.8, 780, 0.6, 0.75};
  add(rows, "throat for 5 kg/min at 90 m/s", mathur, "ex. 11.1, p. 243", 3.25, 0.1 * m1.throat_mm(), 0.005,
      "cm");
  add(rows, "throat for 5 kg/min at 90 m/s", gupta, "ex. 9.1, p. 279", 3.251, 0.1 * m1.throat_mm(), 0.0005,
      "cm");
  add(rows, "jet for 0.4 kg/min at it", gupta, "ex. 9.1, p. 279", 2.2, m1.jet_mm(), 0.05, "mm");
  const Throat k15{6.8 / minute, 0.45 / minute, {1.033 * 98066.5, 293}, 97.5, 0.8, 800, 0.65, 0.75};
  add(rows, "throat for 6.8 kg/min at 97.5 m/s", keswani, "ex. 9.15, p. 226", 3.62, 0.1 * k15.throat_mm(),
      0.005, "cm");
  add(rows, "jet for 0.45 kg/min at it", keswani, "ex. 9.15, p. 226", 2.13, k15.jet_mm(), 0.005, "mm");
  Throat ram{6.0 / minute, 0.44 / minute, {1.0e5, 300}, 90, 0.85, 740, 0.66, 0.8};
  ram.gamma = 1.35;
  add(rows, "throat for 6 kg/min at 90 m/s, exponent 1.35", ramalingam, "ex. 13", 3.55, 0.1 * ram.throat_mm(),
      0.005, "cm",
      {"the book's cp 1005, R 281 and exponent 1.35 are not of one gas; the program takes air's R and the "
       "exponent",
       0.06});
  add(rows, "jet for 0.44 kg/min at it", ramalingam, "ex. 13", 2.218, ram.jet_mm(), 0.005, "mm",
      {"the book's cp 1005, R 281 and exponent 1.35 are not of one gas; the program takes air's R and the "
       "exponent",
       0.06});

  // Emulsion tube in the choke: the free area is an annulus.
  struct Tube {
    std::string work, page;
    double filling, rpm, ratio, speed, Cda, Cdf, T, choke, jet;
  };
  for (const Tube& t : {Tube{rajput, "ex. 11.8, p. 404", 0.75, 4200, 13, 85, 0.82, 0.65, 293, 29.61, 1.68},
                        Tube{mathur, "ex. 11.5, p. 263", 0.70, 4200, 13, 90, 0.85, 0.66, 300, 0.0, 1.56}}) {
    const Air air{1.013e5, t.T};
    const double flow = 1489e-6 * t.rpm / 120.0 * t.filling * air.density();
    const double drop = drop_for_speed(air, t.speed);
    const double free_area = flow / (t.Cda * mass_flux(air, drop));
    const double choke_mm =
        1000.0 *
        find_root([&](double d) { return area_of_bore(d) - area_of_bore(0.4 * d) - free_area; }, 1e-3, 0.1);
    if (t.choke > 0.0)
      add(rows, "choke of a 1489 cm3 engine, tube 0.4 of it wide", t.work, t.page, t.choke, choke_mm, 0.005,
          "mm");
    add(rows, "jet for it at air-fuel ratio 13", t.work, t.page, t.jet,
        1000.0 * jet_bore(flow / t.ratio, drop - head_of_fuel(6e-3, 740), 740, t.Cdf), 0.005, "mm");
  }

  // Fuel vapour in the charge: the mixture's volume from the program's gas, R 287 and R of the vapour.
  const auto charge = [](double ratio, double vapour_R, double p, double T) {
    m::GasData<double> gas = m::make_gas_data(m::Fuel<>{});
    gas.R = {287.0, vapour_R, 0.0, 287.0};
    const auto one = m::fill_volume(gas, 1.0, p, T, {ratio / (1.0 + ratio), 1.0 / (1.0 + ratio), 0.0, 0.0});
    return one.mass[m::vapour];  // kg of fuel per m³
  };
  const double stoichiometric = (0.84 * 32.0 / 12.0 + 0.16 * 8.0) / 0.23;  // of C 84 %, H 16 %; air 23 % O2
  const double drawn10 = engine_air(8, 0.110, 0.110, 3000, 0.75, 1.0);
  const double fuel10 = drawn10 * charge(stoichiometric, 97.0, 1.013e5, 273.0);
  add(rows, "fuel of an eight-cylinder engine, correct mixture as gas", rajput, "ex. 11.10, p. 406", 46.66,
      hour * fuel10, 0.005, "kg/h");
  const Air throat10{1.013e5 - 0.12e5, 288.0};
  add(rows, "air speed in its 42 mm choke", rajput, "ex. 11.10, p. 406", 132.52,
      stoichiometric * fuel10 / (throat10.density() * area_of_bore(0.042)), 0.005, "m/s");
  const double drawn93 = engine_air(4, 0.080, 0.090, 4000, 0.80, 1.0);
  const double fuel93 = drawn93 * charge(0.95 * stoichiometric, 98.0, 1.0e5, 298.0);
  const Air air93{1.0e5, 298.0};
  add(rows, "fuel of four 80 x 90 mm at 4000 rpm, 95 % of theoretical air", gupta, "ex. 9.3, p. 283", 0.00379,
      fuel93, 5e-6, "kg/s");
  add(rows, "air speed under 0.06 bar", gupta, "ex. 9.3, p. 283", 102.5, ideal_speed(air93, 0.06e5), 0.05,
      "m/s");
  add(rows, "throat for it", gupta, "ex. 9.3, p. 283", 24.75,
      1000.0 * bore_of_area(0.95 * stoichiometric * fuel93 / mass_flux(air93, 0.06e5)), 0.005, "mm");
}

}  // namespace

void check_worked_carburetor_examples(std::vector<Row>& rows) {
  simple_carburetors(rows);
  suctions_and_jets(rows);
  cleaners_and_altitude(rows);
  compressible_throats(rows);
}

}  // namespace glassbowl::validation
