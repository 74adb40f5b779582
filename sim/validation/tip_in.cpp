#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

#include "models/constants.hpp"
#include "sim/validation/engine_runs.hpp"
#include "sim/validation/engine_topics.hpp"

/// The shipped 750 twin at a held 2,500 rpm, throttle from 6 % to 50 % within 60 ms: what the wall films
/// make of the fuel that the carburetor delivers.
namespace glassbowl::validation {
namespace m = glassbowl::models;
namespace {

constexpr double watched = 3.0;  // [s] after the movement begins

/// One engine cycle of the run.
struct Moment {
  double end, duration;    ///< [s]
  double air, fuel;        ///< [kg/s] out of the carburetor
  double lambda;           ///< [-] trapped, all cylinders
  double film;             ///< [kg] on all walls at its end
  double film_mean, left;  ///< [kg] mean, [kg/s] evaporated and crept
};

struct TipIn {
  double film_before = 0.0;
  double stoichiometric = 0.0;
  std::vector<Moment> moments;

  double peak() const {
    double out = 0.0;
    for (const Moment& c : moments)
      if (c.end > 0.12) out = std::max(out, c.lambda);
    return out;
  }
  double final() const {
    double sum = 0.0;
    int n = 0;
    for (const Moment& c : moments)
      if (c.end > watched - 0.3) {
        sum += c.lambda;
        ++n;
      }
    return sum / n;
  }
};

TipIn run_tip_in(bool with_pump) {
  auto bike = shipped_bike("mule_750");
  bike.carburetor.pump.fitted = with_pump;
  bike.load.speed = m::Schedule<>::constant(2500.0 * m::constants::pi / 30.0);
  bike.rider.throttle = m::Schedule<>({{0.0, 0.06}, {0.06, 0.5}});
  sim::Simulation simulation(bike, {});
  simulation.set_time(-4.0);
  simulation.advance(0.0);
  const auto& states = simulation.network().states();
  const auto films = [&] {
    double sum = 0.0;
    for (std::size_t k = 0; k < states.cylinders; ++k)
      sum += std::as_const(simulation).state()[states.films[k].index(&m::WallFilmState<double>::fuel)];
    return sum;
  };
  TipIn out;
  out.film_before = films();
  out.stoichiometric = bike.fuel.stoichiometric_ratio;
  const double piece = 2.5e-4;
  double left = 0.0, mean = 0.0;
  int pieces = 0;
  const auto on_cycle = [&](const sim::Cycle& c) {
    double air = 0.0, fuel = 0.0;
    for (const auto& charge : c.cylinders) {
      const double fresh = charge.mass * (1.0 - charge.residual);
      fuel += fresh / (1.0 + charge.lambda * out.stoichiometric);
      air += fresh * charge.lambda * out.stoichiometric / (1.0 + charge.lambda * out.stoichiometric);
    }
    out.moments.push_back({c.start + c.duration, c.duration, c.air_flow, c.fuel_flow,
                           air / (fuel * out.stoichiometric), films(), mean / std::max(pieces, 1),
                           left / std::max(pieces, 1)});
    left = mean = 0.0;
    pieces = 0;
  };
  for (int i = 1; i * piece <= watched; ++i) {
    simulation.advance(i * piece, on_cycle);
    for (const auto& film : simulation.outputs().film) left += film.evaporated + film.crept;
    mean += films();
    ++pieces;
  }
  return out;
}

/// The two-parameter model driven by the run's own deliveries, with share and time taken from the run's end.
struct TwoParameters {
  double share = 0.0, time = 0.0;
  std::vector<double> lambda, film;  ///< per cycle of the run
};

TwoParameters identify_and_predict(const TipIn& run) {
  TwoParameters out;
  double deposited = 0.0, delivered = 0.0, mass = 0.0, left = 0.0;
  for (std::size_t i = 1; i < run.moments.size(); ++i) {
    const Moment& c = run.moments[i];
    if (c.end < watched - 1.0) continue;
    deposited += c.film - run.moments[i - 1].film + c.left * c.duration;
    delivered += c.fuel * c.duration;
    mass += c.film_mean;
    left += c.left;
  }
  out.share = deposited / delivered;
  out.time = mass / left;
  double film = run.film_before;
  for (const Moment& c : run.moments) {
    // Exact over a cycle of constant delivery.
    const double settled = out.share * out.time * c.fuel;
    const double next = settled + (film - settled) * std::exp(-c.duration / out.time);
    const double entering = c.fuel - (next - film) / c.duration;
    film = next;
    out.film.push_back(film);
    out.lambda.push_back(c.air / (entering * run.stoichiometric));
  }
  return out;
}

}  // namespace

void check_tip_in(std::vector<Row>& rows) {
  TipIn runs[2];
  in_parallel(2, [&](std::size_t i) { runs[i] = run_tip_in(i == 1); });
  const TipIn& bare = runs[0];
  const TwoParameters model = identify_and_predict(bare);
  const auto at = [&](double time) {
    std::size_t i = 0;
    while (i + 1 < bare.moments.size() && bare.moments[i].end < time) ++i;
    return i;
  };

  const Source aquino{"Aquino, SAE 810494, 1981",
                      "two-parameter model, share and time of the run's last second", Seen::computed};
  double predicted_peak = 0.0;
  for (std::size_t i = 0; i < bare.moments.size(); ++i)
    if (bare.moments[i].end > 0.12) predicted_peak = std::max(predicted_peak, model.lambda[i]);
  const auto constant =
      relative(0.10, "share and time are constants there; here they follow speed and warmth of the gas");
  rows.push_back(
      {"tip-in", "peak lambda, no pump", aquino, predicted_peak, bare.peak(), constant, "lambda", {}});
  for (const double time : {0.3, 0.5, 1.0, 2.0}) {
    const std::size_t i = at(time);
    const std::string when = " after " + std::to_string(time).substr(0, 3) + " s, no pump";
    rows.push_back(
        {"tip-in", "lambda" + when, aquino, model.lambda[i], bare.moments[i].lambda, constant, "lambda", {}});
    rows.push_back({"tip-in",
                    "fuel on the walls" + when,
                    aquino,
                    1e6 * model.film[i],
                    1e6 * bare.moments[i].film,
                    constant,
                    "mg",
                    {}});
  }
  const auto ratios = in_range(1.176, 1.82);
  rows.push_back(
      {"tip-in",
       "peak over final lambda, no pump",
       {"Aquino, SAE 810494, 1981", "1/(1 - X(1 - m1/m2)), X 0.3 to 0.6, m1/m2 0.5 to 0.25", Seen::computed},
       ratios.middle,
       bare.peak() / bare.final(),
       ratios.tolerance,
       "-",
       {}});
  const auto shares = in_range(0.3, 0.6), times = in_range(0.3, 1.5);
  rows.push_back({"tip-in",
                  "share that strikes the walls, solved engine",
                  {"", "literature on carbureted and central injection, X, warm", Seen::from_memory},
                  shares.middle,
                  model.share,
                  shares.tolerance,
                  "-",
                  {}});
  rows.push_back({"tip-in",
                  "time constant of the films, solved engine",
                  {"", "literature on carbureted and central injection, tau, warm", Seen::from_memory},
                  times.middle,
                  model.time,
                  times.tolerance,
                  "s",
                  {}});
  const auto half = in_range(-0.5, 0.5);
  rows.push_back({"tip-in",
                  "lean excursion with the pump over that without",
                  {"", "a pump takes away at least half of it", Seen::common_practice},
                  half.middle,
                  (runs[1].peak() / runs[1].final() - 1.0) / (bare.peak() / bare.final() - 1.0),
                  half.tolerance,
                  "-",
                  {}});
}

}  // namespace glassbowl::validation
