#include <algorithm>
#include <cmath>
#include <functional>
#include <string>
#include <vector>

#include "models/constants.hpp"
#include "models/engine/combustion.hpp"
#include "models/engine/valve_lift.hpp"
#include "models/fuel/accelerator_pump.hpp"
#include "models/fuel/bowl.hpp"
#include "models/fuel/emulsion_channel.hpp"
#include "models/fuel/main_circuit.hpp"
#include "models/fuel/mixture_screw.hpp"
#include "models/fuel/transfer_ports.hpp"
#include "models/gas/flow_function.hpp"
#include "models/throat/needle.hpp"
#include "models/throat/vacuum_piston.hpp"
#include "sim/validation/solve.hpp"
#include "sim/validation/topics.hpp"

/// Every fault by its physics: what a severity does, by hand from series networks, balances and geometry,
/// beside what the models give. The hand values were worked out apart from the program.
namespace glassbowl::validation {
namespace m = glassbowl::models;
namespace {

constexpr double rho = 745.0, nu = 0.55e-6, p_air = 101325.0;
const m::GasFlow air(1.40);

void add(std::vector<Row>& rows, std::string what, std::string law, double by_hand, double computed,
         Tolerance tolerance, std::string unit = "-", Disagreement disagreement = {}) {
  rows.push_back({"fault",
                  std::move(what),
                  {std::move(law), "", Seen::derived},
                  by_hand,
                  computed,
                  std::move(tolerance),
                  std::move(unit),
                  std::move(disagreement)});
}

/// The main circuit of the shipped V-twin, under a steady 2.5 kPa at its nozzle.
m::MainCircuit<> main_circuit() {
  m::MainCircuit<> c;
  c.main_jet = {1.67e-3, 3e-3, 0.0, 0.0};
  c.air_jet = {1.80e-3, 3e-3, 0.0, 0.0};
  c.tube.rows = {{-0.007, 0.5e-3, 2.0}, {-0.011, 0.5e-3, 3.0}, {-0.015, 0.6e-3, 4.0}, {-0.019, 1.0e-3, 4.0}};
  c.well_diameter = 5e-3;
  c.tube_diameter = 4.2e-3;
  c.foot = -0.024;
  c.lip = 0.004;
  c.riser_diameter = c.nozzle_diameter = 2.6e-3;
  return c;
}

/// Steady delivery [kg/s], mean over the last second of three.
double main_fuel(const m::MainCircuit<>& c) {
  m::MainCircuitBoundary<double> b{};
  b.bowl_pressure = b.air_pressure = 100e3;
  b.bowl_level = -0.0034;
  b.nozzle_pressure = b.air_pressure - 2500.0;
  b.nozzle_area = c.nozzle_discharge * 0.25 * m::constants::pi * c.nozzle_diameter * c.nozzle_diameter;
  b.fuel_density = rho;
  b.fuel_viscosity = nu;
  b.air_density = 1.2;
  b.response = 1e-4;
  const auto k = m::measure_main_circuit(c, rho, nu, 0.0);
  auto s = m::main_circuit_at_rest(c, b.bowl_level, rho);
  const double dt = 2e-5;
  const int steps = 150000, last = 50000;
  double delivered = 0.0;
  for (int i = 0; i < steps; ++i) {
    const auto f = m::evaluate_main_circuit(c, k, s, b);
    s.jet_flow += dt * f.rate.jet_flow;
    s.well += dt * f.rate.well;
    s.bleed_flow += dt * f.rate.bleed_flow;
    s.riser_flow += dt * f.rate.riser_flow;
    s.riser += dt * f.rate.riser;
    if (i >= steps - last) delivered += f.nozzle_fuel / last;
  }
  return delivered;
}

struct MainFault {
  const char* what;
  std::function<void(m::MainCircuit<>&)> make;
  double by_hand;
};

void main_circuit_faults(std::vector<Row>& rows) {
  const double sound = main_fuel(main_circuit());
  const MainFault faults[] = {
      {"main jet 20 % blocked", [](auto& c) { c.main_jet.blocked = 0.2; }, 0.8526},
      {"main jet 50 % blocked", [](auto& c) { c.main_jet.blocked = 0.5; }, 0.5821},
      {"main jet 90 % blocked", [](auto& c) { c.main_jet.blocked = 0.9; }, 0.1224},
      {"main jet worn by 0.1 mm", [](auto& c) { c.main_jet.wear = 0.1e-3; }, 1.0764},
      {"main air jet 50 % blocked", [](auto& c) { c.air_jet.blocked = 0.5; }, 1.1390},
      {"main air jet 99.9 % blocked", [](auto& c) { c.air_jet.blocked = 0.999; }, 1.2853},
      {"main air jet worn by 0.2 mm", [](auto& c) { c.air_jet.wear = 0.2e-3; }, 0.9409},
      {"tube holes 50 % plugged", [](auto& c) { c.tube.plugged = 0.5; }, 0.9642},
      {"tube holes 70 % plugged", [](auto& c) { c.tube.plugged = 0.7; }, 0.9357},
      {"tube holes 90 % plugged", [](auto& c) { c.tube.plugged = 0.9; }, 0.8945},
      {"tube holes all shut", [](auto& c) { c.tube.plugged = 1.0; }, 0.8670},
  };
  for (const auto& fault : faults) {
    auto c = main_circuit();
    fault.make(c);
    add(rows, std::string(fault.what) + ": main fuel at 2.5 kPa over the sound circuit's",
        "series network of jet, mouth, bleed path, riser and nozzle", fault.by_hand, main_fuel(c) / sound,
        relative(0.01, "settling; discharge inverted to 0.2 %"));
  }
}

/// Steady fuel [kg/s] of an emulsion channel whose outlet lies in the manifold and whose covered ports lie in
/// the bore's air, fed from a surface `level` [m].
struct Channel {
  m::EmulsionChannel<> c;
  double outlet, ports, manifold, level, source;  // [m²], [m²], [Pa], [m], [m]

  double fuel() const {
    const double T = 303.15, density = p_air / (m::constants::R_air * T);
    const auto k = m::measure_channel(c, source, rho, nu, T);
    auto s = m::channel_at_rest(c, level, source, rho, p_air, T);
    const m::ChannelSource<double> fed{p_air + rho * m::constants::g0 * (level - source), level - source};
    const double dt = 5e-6;
    const int steps = 600000, last = 200000;
    double out = 0.0;
    for (int i = 0; i < steps; ++i) {
      const auto channel = m::channel_conditions(c, k, s);
      const auto below = m::outlet_flow(air, channel, outlet, manifold, manifold / (m::constants::R_air * T));
      const auto covered = m::outlet_flow(air, channel, ports, p_air, density);
      const double in = m::channel_air(air, k, channel, p_air, density);
      const auto rate = m::channel_rates(k, s, channel, fed,
                                         {below.fuel + covered.fuel, below.air + covered.air, in}, 1e-4);
      s.feed_flow += dt * rate.feed_flow;
      s.riser += dt * rate.riser;
      s.liquid += dt * rate.liquid;
      s.gas += dt * rate.gas;
      if (i >= steps - last) out += below.fuel / last;
    }
    return out;
  }
};

/// The slow circuit of the shipped V-twin at idle, all transfer ports covered.
Channel slow_circuit() {
  Channel out;
  out.c.fuel_jet = {0.53e-3, 1.3e-3, 0.0, 0.0};
  out.c.air_jet = {1.0e-3, 2e-3, 0.0, 0.0};
  out.c.height = 0.012;
  m::MixtureScrew<> screw;
  screw.turns = 3.1;
  screw.taper = 14.0 * m::constants::pi / 180.0;
  out.outlet = m::mixture_screw_area(screw);
  out.ports = 0.0;
  for (const double d : {0.62e-3, 0.8e-3, 0.85e-3, 0.8e-3})
    out.ports += m::port_discharge * 0.25 * m::constants::pi * d * d;
  out.manifold = 35.8e3;
  out.level = -0.0021;
  out.source = -0.024;
  return out;
}

/// The cold-start circuit of the shipped piston carburetor, plunger lifted.
Channel cold_start() {
  Channel out = slow_circuit();
  out.c.fuel_jet = {0.34e-3, 1.3e-3, 0.0, 0.0};
  out.c.air_jet = {3.2e-3, 6e-3, 0.0, 0.0};
  out.c.volume = 8e-6;
  out.outlet = 5e-6;
  out.ports = 0.0;
  out.manifold = 50e3;
  out.level = -0.003;
  out.source = -0.023;
  return out;
}

struct ChannelFault {
  const char* what;
  std::function<void(Channel&)> make;
  double by_hand;
};

void channel_faults(std::vector<Row>& rows) {
  const auto table = [&](const Channel& sound, const char* where, const std::vector<ChannelFault>& faults) {
    const double fuel = sound.fuel();
    for (const auto& fault : faults) {
      Channel x = sound;
      fault.make(x);
      add(rows, std::string(fault.what) + ": " + where + " over the sound circuit's",
          "series network of jet, lift, air ways and choked outlet", fault.by_hand, x.fuel() / fuel,
          relative(0.02, "settling; discharge inverted to 0.2 %; the gas keeps a fifth of the channel"));
    }
  };
  table(slow_circuit(), "idle fuel",
        {{"slow jet 20 % blocked", [](Channel& x) { x.c.fuel_jet.blocked = 0.2; }, 0.8657},
         {"slow jet 50 % blocked", [](Channel& x) { x.c.fuel_jet.blocked = 0.5; }, 0.6116},
         {"slow jet worn by 0.05 mm", [](Channel& x) { x.c.fuel_jet.wear = 0.05e-3; }, 1.1130},
         {"slow air jet 50 % blocked", [](Channel& x) { x.c.air_jet.blocked = 0.5; }, 1.1816},
         {"slow air jet 99.9 % blocked", [](Channel& x) { x.c.air_jet.blocked = 0.999; }, 1.4140},
         {"slow air jet worn by 0.2 mm", [](Channel& x) { x.c.air_jet.wear = 0.2e-3; }, 0.8678},
         {"covered ports 50 % plugged (they bleed air in)", [](Channel& x) { x.ports *= 0.5; }, 1.4331},
         {"covered ports all plugged", [](Channel& x) { x.ports = 0.0; }, 2.3308}});
  table(cold_start(), "enrichment fuel at 50 kPa",
        {{"enrichment jet 50 % blocked", [](Channel& x) { x.c.fuel_jet.blocked = 0.5; }, 0.5033},
         {"enrichment air jet 50 % blocked", [](Channel& x) { x.c.air_jet.blocked = 0.5; }, 1.5780},
         {"enrichment air jet worn by 1 mm", [](Channel& x) { x.c.air_jet.wear = 1e-3; }, 0.6139}});
}

void float_faults(std::vector<Row>& rows) {
  m::Bowl<> sound;
  const auto flow = [&](double leak) {
    m::Bowl<> bowl = sound;
    bowl.needle_leak = leak;
    return 60e6 / rho * m::bowl_inflow(1.0, m::float_valve_area(bowl, 0.004, 2200.0, rho), 2200.0, rho);
  };
  const auto series = [](const char* place) {
    return std::string("orifice law, leak and seat in series, ") + place;
  };
  add(rows, "float needle leaks by 0.5 mm2: flow of the shut valve at 2.2 kPa", series("0.65, 2.3 mm seat"),
      47.05, flow(0.5e-6), relative(2e-3, "rounding of the needle's lift"), "cm3/min");
  add(rows, "float needle leaks by 10 mm2: no more than its seat passes", series("0.65, 2.3 mm seat"), 363.7,
      flow(10e-6), relative(2e-3, "rounding of the needle's lift"), "cm3/min");
  m::Bowl<> bent = sound;
  bent.float_error = 3e-3;
  const double opening = m::float_valve_area(sound, sound.level, sound.nominal_feed, rho);
  const double level = find_root(
      [&](double h) { return m::float_valve_area(bent, h, sound.nominal_feed, rho) - opening; }, -0.02, 0.02);
  add(rows, "float bent by 3 mm: rise of the level", "buoyancy follows the arm", 3.0,
      1e3 * (level - sound.level), absolute(1e-6, "bisection"), "mm");
}

/// Depression [Pa] that lifts a piston off its stop when `tear` [m²] lies open beside its vents.
double lifting_depression(double tear, double friction) {
  m::VacuumPiston<> p;
  p.guide_friction = friction;
  const double density = 1.2,
               vents = p.vent_count * 0.25 * m::constants::pi * p.vent_diameter * p.vent_diameter;
  const auto lifts = [&](double depression) {
    const double throat = p_air - depression;
    const double chamber = find_root(
        [&](double pc) {
          return m::orifice_flow(air, p.vent_discharge * tear, p_air, density, pc, density, 0.01) -
                 m::orifice_flow(air, p.vent_discharge * vents, pc, density, throat, density, 0.01);
        },
        throat, p_air);
    double lift = 0.0, velocity = 0.0;
    for (int i = 0; i < 40000 && lift < 1e-3; ++i) {
      velocity += 5e-5 * m::piston_acceleration(p, lift, velocity, p_air, chamber, throat, 1e-4);
      lift += 5e-5 * velocity;
    }
    return lift < 1e-3 ? -1.0 : 1.0;
  };
  return find_root(lifts, 100.0, 20e3);
}

void piston_faults(std::vector<Row>& rows) {
  const double sound = lifting_depression(0.0, 0.0);
  add(rows, "diaphragm torn by 5 mm2: depression that lifts the piston 1 mm, over the sound one's",
      "two openings in series put the chamber at t2/(t2 + v2) of the way to the inlet", 2.124,
      lifting_depression(5e-6, 0.0) / sound, relative(0.01, "bisection over 2 s of motion"));
  add(rows, "piston sticks by 2 N: depression that lifts it, above the sound one's",
      "friction over the diaphragm's ring outside the slide", 1326.3, lifting_depression(0.0, 2.0) - sound,
      relative(0.03, "creep just below its friction, over 2 s of motion"), "Pa");
  m::Needle<> needle, worn;
  needle.diameter = worn.diameter = m::Schedule<>({{0.0, 2.593e-3}, {0.036, 1.8e-3}});
  worn.jet_wear = 0.02e-3;
  add(rows, "needle jet worn by 0.02 mm about a 2.593 mm needle: annulus over the sound one's",
      "difference of two circles", 3.872,
      m::needle_annulus_area(worn, 0.0) / m::needle_annulus_area(needle, 0.0),
      absolute(1e-3, "printed digits"));
}

void pump_faults(std::vector<Row>& rows) {
  // Cam 2 mm, diaphragm 1 mm: (4000 N/m 1 mm - 1 N - 400 N/m 1 mm) over 22 mm of diameter, 6.84 kPa.
  const auto flows = [](const std::function<void(m::AcceleratorPump<>&)>& make) {
    m::AcceleratorPump<> pump;
    pump.pull_over = 0.0;
    pump.leak_area = 0.0;
    make(pump);
    return m::evaluate_pump(pump, {1e-3}, {2e-3, p_air, 0.0, 0.03, p_air, rho, nu, 1e-4});
  };
  const double sound = flows([](auto&) {}).nozzle;
  const auto leaking = flows([](auto& pump) { pump.leak_area = 0.2e-6; });
  add(rows, "pump leaks by 0.2 mm2: share of what it displaces that reaches the nozzle",
      "nozzle and leak side by side under 6.84 kPa", 0.3252,
      leaking.nozzle / (leaking.nozzle - leaking.inlet), relative(0.01, "smoothing over 50 Pa"));
  add(rows, "pump nozzle 50 % blocked: its flow over the sound one's", "Lichtarowicz's discharge", 0.4765,
      flows([](auto& pump) { pump.nozzle.blocked = 0.5; }).nozzle / sound, relative(2e-3, "printed digits"));
  add(rows, "pump nozzle worn by 0.2 mm: its flow over the sound one's", "Lichtarowicz's discharge", 2.3217,
      flows([](auto& pump) { pump.nozzle.wear = 0.2e-3; }).nozzle / sound, relative(2e-3, "printed digits"));
}

void engine_faults(std::vector<Row>& rows) {
  const double T = 288.15, density = p_air / (m::constants::R_air * T);
  add(rows, "manifold leaks by 3 mm2: air drawn in at 35 kPa", "choked nozzle, 0.0404 A p / sqrt T", 0.7237,
      1e3 * m::orifice_flow(air, 3e-6, p_air, density, 35e3, 0.4, 20.0), relative(2e-3, "printed digits"),
      "g/s");
  m::Valve<> loose;
  loose.clearance_error = 0.3e-3;
  const double period = loose.closes - loose.opens;
  const double opens = find_root([&](double theta) { return m::valve_lift(loose, theta) - 1e-12; },
                                 loose.opens, loose.opens + 0.5 * period);
  add(rows, "valve lash 0.3 mm too wide of 8.5 mm lift: opens later by",
      "sine square over 255 degrees: asin sqrt(0.3/8.5) of 180", 15.34,
      (opens - loose.opens) * 180.0 / m::constants::pi, absolute(0.02, "printed digits"), "deg");
  m::Combustion<> weak;
  weak.weak_spark = 0.5;
  const auto half = [&](double low, double high) {
    return find_root([&](double l) { return m::ignited_share(weak, l, 0.0) - 0.5; }, low, high);
  };
  add(rows, "spark weak by half: lean limit", "half way from 1.45 to 0.95 less the limit's half width", 1.19,
      half(1.0, 1.6), absolute(1e-6, "bisection"), "lambda");
  add(rows, "spark weak by half: rich limit", "half way from 0.52 to 0.95 and the limit's half width", 0.745,
      half(0.5, 0.9), absolute(1e-6, "bisection"), "lambda");
  weak.weak_spark = 1.0;
  double most = 0.0;
  for (double lambda = 0.3; lambda < 2.0; lambda += 0.001)
    most = std::max(most, m::ignited_share(weak, lambda, 0.0));
  add(rows, "dead spark: greatest share that lights over lambda", "none", 0.0, most,
      absolute(1e-12, "round-off"));
}

}  // namespace

void check_faults(std::vector<Row>& rows) {
  main_circuit_faults(rows);
  channel_faults(rows);
  float_faults(rows);
  piston_faults(rows);
  pump_faults(rows);
  engine_faults(rows);
}

}  // namespace glassbowl::validation
