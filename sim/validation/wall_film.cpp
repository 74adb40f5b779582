#include "models/mixture/wall_film.hpp"

#include <algorithm>

#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;
namespace {

constexpr double length = 0.100, diameter = 0.034;  // of the runner

/// Response of a runner to a step of the fuel entering it, at constant speed and temperature.
struct Transient {
  m::WallFilm<> film;
  double speed = 100.0;

  double droplets = 0.0, wall = 0.0;
  double peak_ratio = 0.0;  ///< greatest entering over leaving flow
  double missing = 0.0;     ///< [kg] of fuel that entered and did not leave

  double leaving(double entering, double dt) {
    const m::Fuel<> fuel;
    const auto f =
        m::evaluate_film(film, m::film_saturation(film, fuel), wall, droplets, 0.0, speed, diameter);
    const double carried = droplets * speed / length;
    droplets += dt * (entering - carried - f.deposited);
    wall += dt * (f.deposited - f.evaporated - f.crept);
    return carried + f.evaporated + f.crept;
  }

  /// Settles at one flow, steps to the other. `shares` receives leaving/entering at the given times.
  void run(double before, double after, const std::vector<double>& times, std::vector<double>& shares) {
    const double dt = 2e-5;
    for (double t = 0.0; t < 6.0; t += dt) leaving(before, dt);
    std::size_t next = 0;
    for (double t = 0.0; t < 6.0; t += dt) {
      const double out = leaving(after, dt);
      if (t > 6e-3) peak_ratio = std::max(peak_ratio, after / out);  // droplets have crossed the runner
      missing += dt * (after - out);
      if (next < times.size() && t >= times[next]) {
        shares.push_back(out / after);
        ++next;
      }
    }
  }
};

/// Deposited share 0.4 and a film time of 0.5 s: half by evaporation into dry air, half by creep.
m::WallFilm<> share_04_time_05() {
  m::WallFilm<> film;
  film.deposition = 0.4 / 0.6 * diameter / (4.0 * length);
  film.evaporation_time = 1.0;
  film.creep_speed = 10.0;
  film.creep_time = 100.0 / 110.0;
  return film;
}

}  // namespace

void check_wall_film(std::vector<Row>& rows) {
  const std::string aquino = "Aquino, SAE 810494, 1981";
  Transient step{share_04_time_05()};
  std::vector<double> shares;
  step.run(0.3, 1.0, {0.25, 0.5, 1.0}, shares);
  const auto lag = relative(5e-3, "droplets take 1 ms to cross the runner");
  rows.push_back({"wall_film",
                  "peak lambda ratio, share 0.4, step from 0.3 to 1",
                  {aquino, "two-parameter model, step response", Seen::computed},
                  1.389,
                  step.peak_ratio,
                  relative(0.01, "the peak is read 6 ms after the step"),
                  "-",
                  {}});
  const double expected[] = {0.83017, 0.89699, 0.96211};  // 1 - 0.28 exp(-t/0.5)
  const char* names[] = {"0.25 s", "0.5 s", "1 s"};
  for (std::size_t k = 0; k < 3; ++k)
    rows.push_back({"wall_film",
                    std::string("share of the fuel that arrives after ") + names[k],
                    {aquino, "two-parameter model, step response", Seen::computed},
                    expected[k],
                    shares.at(k),
                    lag,
                    "-",
                    {}});
  Transient shot{share_04_time_05()};
  shares.clear();
  shot.run(0.3e-3, 2.0e-3, {}, shares);
  rows.push_back({"wall_film",
                  "fuel missing after a step from 0.3 to 2.0 g/s",
                  {aquino, "share times time constant times step", Seen::computed},
                  340.0,
                  1e6 * shot.missing,
                  relative(0.01, "droplets on their way add 1 mg"),
                  "mg",
                  {}});

  // Time constant and share of the default film, warm, at 20 m/s.
  const m::WallFilm<> shipped;
  const double partial = 2000.0;  // [Pa] of vapour at lambda 1, about 2 % by volume
  const auto f =
      m::evaluate_film(shipped, m::film_saturation(shipped, m::Fuel<>{}), 1.0, 1.0, partial, 20.0, diameter);
  const double share = f.deposited / (f.deposited + 20.0 / length);

  const auto shares_range = in_range(0.3, 0.6), times_range = in_range(0.3, 1.5);
  rows.push_back({"wall_film",
                  "deposited share, warm, 100 mm runner",
                  {"", "literature on carbureted and central injection, X, warm", Seen::from_memory},
                  shares_range.middle,
                  share,
                  shares_range.tolerance,
                  "-",
                  {}});
  rows.push_back({"wall_film",
                  "time constant, warm",
                  {"", "literature on carbureted and central injection, tau, warm", Seen::from_memory},
                  times_range.middle,
                  1.0 / (f.evaporated + f.crept),
                  times_range.tolerance,
                  "s",
                  {}});
  const std::string hendricks = "Hendricks & Sorenson, SAE 900616, 1990";
  const auto X = in_range(0.211, 0.542), tau = in_range(0.462, 1.025);
  rows.push_back({"wall_film",
                  "deposited share, over their map of 0.3 to 0.9 bar, 1000 to 4000 rpm",
                  {hendricks, "X(p, n)", Seen::computed},
                  X.middle,
                  share,
                  X.tolerance,
                  "-",
                  {}});
  rows.push_back({"wall_film",
                  "time constant, over the same map",
                  {hendricks, "tau(p, n)", Seen::computed},
                  tau.middle,
                  1.0 / (f.evaporated + f.crept),
                  tau.tolerance,
                  "s",
                  {}});
}

}  // namespace glassbowl::validation
