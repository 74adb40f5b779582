#include "viz/cutaway/particles.hpp"

#include <algorithm>
#include <cmath>

namespace glassbowl::viz {
namespace {

constexpr double longest_move = 2.5e-3;  // [m] before speeds are looked up again
constexpr int most_moves = 40;           // then it has crossed the whole picture
constexpr std::size_t most_fuel = 5000;
constexpr double settle_time = 0.12;  // [s]
constexpr int settle_steps = 60;

double share_of_liquid(const Instant& now, const Signals::Volume& v) {
  const double droplets = std::max(0.0, now[v.droplets]), vapour = std::max(0.0, now[v.vapour]);
  return droplets + vapour > 0.0 ? droplets / (droplets + vapour) : 0.0;
}

}  // namespace

Particles::Particles(const CarburetorPlan& bore, const EnginePlan& engine, std::size_t air_marks)
    : bore_(bore), engine_(engine), speed_(bore, engine), air_marks_(air_marks), all_air_marks_(air_marks) {}

void Particles::thin_out(unsigned times) {
  if (times == thinned_) return;
  thinned_ = times;
  air_marks_ = all_air_marks_ / times;
  particles_.clear();
}

double Particles::chance() {
  random_ ^= random_ << 13U;
  random_ ^= random_ >> 7U;
  random_ ^= random_ << 17U;
  return static_cast<double>(random_ >> 11U) * 0x1p-53;
}

std::size_t Particles::choose_lane() {
  double sum = 0.0;
  for (std::size_t k = 0; k < speed_.lanes(); ++k) sum += std::max(0.0, speed_.runner_inflow(k));
  double at = chance() * sum;
  for (std::size_t k = 0; k < speed_.lanes(); ++k) {
    at -= std::max(0.0, speed_.runner_inflow(k));
    if (at <= 0.0 && sum > 0.0) return k;
  }
  return static_cast<std::size_t>(chance() * static_cast<double>(speed_.lanes()));
}

/// Puts an air mark at a place chosen by the gas that is there: evenly over the drawing's length.
void Particles::respawn(Particle& p) {
  const double bore_length = speed_.bore_to() - speed_.bore_from();
  double total = bore_length;
  for (std::size_t k = 0; k < speed_.lanes(); ++k)
    total += speed_.lane_length(k) / static_cast<double>(speed_.lanes());
  double at = chance() * total;
  p.engine = at > bore_length;
  p.lane = 0;
  p.place = speed_.bore_from() + at;
  if (p.engine) {
    p.lane = static_cast<std::size_t>(chance() * static_cast<double>(speed_.lanes()));
    p.place = chance() * speed_.lane_length(p.lane);
  }
  p.share = static_cast<float>(2.0 * chance() - 1.0);
  p.chance = static_cast<float>(chance());
  p.before = p.place;
  p.fresh = true;
}

/// Returns false when it has left the picture.
bool Particles::move(Particle& p, double dt) {
  p.before = p.place;
  p.fresh = false;
  for (int i = 0; dt > 0.0; ++i) {
    if (i == most_moves) {
      if (p.hue != Hue::air) return false;
      respawn(p);
      return true;
    }
    const double v = p.engine ? speed_.in_lane(p.lane, p.place) : speed_.in_bore(p.place, p.share >= 0);
    const double piece = std::min(dt, longest_move / std::max(1e-9, std::abs(v)));
    p.place += v * piece;
    dt -= piece;
    if (!p.engine && p.place > speed_.bore_to()) {
      p.engine = true;
      p.lane = choose_lane();
      p.place -= speed_.bore_to();
      p.share = static_cast<float>(2.0 * chance() - 1.0);
      p.fresh = true;
    } else if (p.engine && p.place < 0.0) {
      p.engine = false;
      p.place += speed_.bore_to();
      p.fresh = true;
    }
    if (p.engine ? p.place > speed_.lane_length(p.lane) : p.place < speed_.bore_from()) return false;
  }
  return true;
}

void Particles::release(double x, double share, Hue hue, double flow, double dt, std::size_t outlet,
                        bool spread) {
  if (!(flow > 0.0)) return;
  double& waiting = waiting_.at(outlet);
  waiting += flow * dt / dot_mass();
  while (waiting >= 1.0) {
    waiting -= 1.0;
    if (particles_.size() >= air_marks_ + most_fuel) continue;
    Particle p;
    p.hue = hue;
    p.place = p.before = x;
    p.share =
        static_cast<float>(std::clamp(share + (chance() - 0.5) * (spread ? 0.35 : 0.10), -0.985, 0.985));
    p.chance = static_cast<float>(chance());
    if (move(p, chance() * dt)) particles_.push_back(p);
  }
}

void Particles::emit(const Signals& s, const Instant& now, double dt) {
  const auto& g = now.source().geometry();
  const auto share_at = [&](double x, double y) {
    const double middle = speed_.height(x, 0.0);
    const double top = speed_.height(x, 1.0), low = speed_.height(x, -1.0);
    return y >= middle ? (y - middle) / std::max(1e-6, top - middle)
                       : (y - middle) / std::max(1e-6, middle - low);
  };
  std::size_t outlet = 0;
  release(bore_.throat_x, share_at(bore_.throat_x, g.nozzle_lip), Hue::main, now[s.main_flow], dt, outlet++,
          true);
  release(bore_.pump_nozzle_x, share_at(bore_.pump_nozzle_x, g.pump_nozzle_height), Hue::pump,
          now[s.pump_flow], dt, outlet++, true);
  release(bore_.idle_x, -0.95, Hue::idle, now[s.idle_flow], dt, outlet++, false);
  release(bore_.enrichment_x, -0.95, Hue::enrichment, now[s.enrichment_flow], dt, outlet++, false);
  for (std::size_t i = 0; i < g.ports.size() && outlet < waiting_.size(); ++i)
    release(-g.ports[i].position, -0.96, Hue::transfer, now[s.port_flow[i]], dt, outlet++, false);
}

void Particles::advance(const Signals& s, const Instant& now, double dt) {
  speed_.update(s, now);
  liquid_mixing_ = share_of_liquid(now, s.mixing);
  liquid_manifold_ = share_of_liquid(now, s.manifold);
  liquid_runner_.clear();
  landing_.clear();
  for (std::size_t k = 0; k < speed_.lanes(); ++k) {
    liquid_runner_.push_back(share_of_liquid(now, s.runner[k].back()));
    double droplets = 0.0;
    for (const auto& cell : s.runner[k]) droplets += std::max(0.0, now[cell.droplets]);
    landing_.push_back(droplets > 0.0 ? now[s.film_deposited[k]] / droplets : 0.0);
  }
  if (particles_.size() < air_marks_) {
    particles_.clear();
    particles_.resize(air_marks_);
    for (auto& p : particles_) respawn(p);
  }
  if (dt <= 0.0) {
    for (auto& p : particles_) p.before = p.place;
    return;
  }
  for (std::size_t i = 0; i < air_marks_; ++i)
    if (!move(particles_[i], dt)) respawn(particles_[i]);
  std::size_t kept = air_marks_;
  for (std::size_t i = air_marks_; i < particles_.size(); ++i) {
    auto& p = particles_[i];
    if (!move(p, dt)) continue;
    const bool in_runner =
        p.engine && p.place > speed_.lane_length(p.lane) - (engine_.runner_top - engine_.head);
    if (in_runner && p.chance < liquid_runner_[p.lane] && chance() < landing_[p.lane] * dt) continue;
    particles_[kept++] = p;
  }
  particles_.resize(kept);
  emit(s, now, dt);
}

void Particles::settle(const Signals& signals, Source& source, double time) {
  if (particles_.size() > air_marks_) particles_.resize(air_marks_);
  const double from = std::max(source.first_time(), time - settle_time);
  const double dt = (time - from) / settle_steps;
  for (int i = 1; i <= settle_steps; ++i) advance(signals, Instant(source, from + i * dt), dt);
}

double Particles::liquid_share(const Particle& p) const {
  if (!p.engine) return p.place < 0.0 ? liquid_mixing_ : liquid_manifold_;
  const bool in_runner = p.place > speed_.lane_length(p.lane) - (engine_.runner_top - engine_.head);
  return in_runner ? liquid_runner_[p.lane] : liquid_manifold_;
}

Point Particles::place(const Stage& stage, const Particle& p, double at) const {
  const double share = static_cast<double>(p.share);
  if (!p.engine) return stage.at(at, speed_.height(at, share));
  const double middle = 0.5 * (engine_.plenum_bottom + engine_.plenum_top);
  const double half = 0.5 * (engine_.plenum_top - engine_.plenum_bottom);
  const double down = engine_.intake_x[p.lane];
  const double runner = 0.9 * engine_.runner_half;
  // The outer side of the manifold leads to the far wall of the runner.
  const double turn = down + share * runner - engine_.left;
  if (at < turn) return stage.at(engine_.left + at, middle + 0.9 * share * half);
  const double y = middle + 0.9 * share * half - (at - turn);
  return stage.at(down + share * runner, std::max(engine_.head, y));
}

void Particles::draw(Canvas& canvas, const Stage& stage, const Theme& theme, bool engine) const {
  const float radius = 2.0F * canvas.scale();
  for (const auto& p : particles_) {
    if (p.engine != engine) continue;
    // Of what moves before the horn only fuel that was blown back is of interest.
    if (!engine && p.hue == Hue::air && p.place < bore_.horn) continue;
    const Point now = place(stage, p, p.place);
    if (!stage.box.holds(now)) continue;
    const sf::Color color = color_of(p.hue, theme);
    if (!p.fresh && std::abs(p.place - p.before) * stage.pixels_per_m > 2.0) {
      const sf::Color streak = faded(color, p.hue == Hue::air ? 0.45F : 0.6F);
      const Point start = place(stage, p, p.before), far = now - start;
      const float length = std::hypot(far.x, far.y) / canvas.scale();
      // Along its way, not straight across walls.
      std::array<Point, 6> way{start};
      const std::size_t pieces = length < 12 ? 1 : length < 40 ? 3 : way.size() - 1;
      for (std::size_t i = 1; i < pieces; ++i)
        way[i] = place(
            stage, p, p.before + (p.place - p.before) * static_cast<double>(i) / static_cast<double>(pieces));
      way[pieces] = now;
      canvas.streak(std::span(way).first(pieces + 1), streak, p.hue == Hue::air ? 1.0F : 1.4F);
    }
    if (p.hue == Hue::air) {
      canvas.dot(now, radius * 0.8F, faded(color, 0.75F));
    } else if (static_cast<double>(p.chance) < liquid_share(p)) {
      canvas.dot(now, radius * 1.15F, color);
    } else {
      canvas.dot(now, radius * 0.75F, faded(color, 0.45F));
    }
  }
}

void Particles::draw_bore(Canvas& canvas, const Stage& stage, const Theme& theme) const {
  draw(canvas, stage, theme, false);
}

void Particles::draw_engine(Canvas& canvas, const Stage& stage, const Theme& theme) const {
  draw(canvas, stage, theme, true);
}

}  // namespace glassbowl::viz
