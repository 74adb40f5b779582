#include "viz/view.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "viz/cutaway/explain.hpp"
#include "viz/panels/part_changes.hpp"
#include "viz/plots/differences.hpp"

namespace glassbowl::viz {
namespace {

constexpr float large = 1.35F;           // times the usual type
constexpr double fastest_smooth = 0.1;   // of real time, up to which drawings move
constexpr double strobe_angle = 7.8540;  // [rad] 450 degrees: in the intake stroke of cylinder 1
constexpr float buttons = 130.0F;        // before scaling, right of a lesson's text
constexpr float band_height = 26.0F;     // before scaling
constexpr double degrees = 180.0 / 3.14159265358979323846;

/// Room for the strips: a share of the box, less where there are few of them.
float strips_height(const Box& box, float share, std::size_t count, float u) {
  const float n = static_cast<float>(count);
  return std::min(std::max(share * box.h, (24 * n + 20) * u), (52 * n + 20) * u);
}

std::string rate_text(double rate) {
  return rate >= 0.999 ? "real time" : fmt::format("1/{:.0f} of real time", 1.0 / rate);
}

/// Time, crank and rate alone are `brief`.
std::string headline(ShownRun& run, const Instant& now, double rate, bool brief) {
  const auto& s = run.signals;
  std::string text = fmt::format("t {:.4f} s", now.time());
  const double speed = now[s.speed], angle = now[s.crank_angle] * degrees, throttle = now[s.throttle];
  if (std::isfinite(angle))
    text += fmt::format("    crank {:.0f}°", std::fmod(std::fmod(angle, 720.0) + 720.0, 720.0));
  if (brief) return text + "    " + rate_text(rate);
  if (std::isfinite(speed)) text += fmt::format("    {:.0f} rpm", speed * 30.0 / 3.14159265358979);
  if (std::isfinite(throttle)) text += fmt::format("    throttle {:.1f} %", throttle * 100.0);
  if (const double p = now[s.manifold_pressure]; std::isfinite(p))
    text += fmt::format("    manifold {:.1f} kPa", p * 1e-3);
  if (const double l = now[s.trapped_lambda.empty() ? no_channel : s.trapped_lambda.front()];
      std::isfinite(l))
    text += "    λ cylinder 1 " + lambda_text(l);
  if (const double a = now[s.altitude]; std::isfinite(a) && std::abs(a) > 0.5)
    text += fmt::format("    altitude {:.0f} m", a);
  return text + "    " + rate_text(rate);
}

void draw_lesson(Canvas& canvas, const Box& box, const Theme& theme, const LessonRun& run) {
  const float u = canvas.scale();
  canvas.rect(box, theme.panel);
  canvas.rect({box.x, box.y, 4 * u, box.h}, theme.accent);
  const auto& lesson = run.lesson();
  float y = box.y + 6 * u;
  const std::string where =
      run.at_question() ? "question" : fmt::format("{} of {}", run.step() + 1, lesson.steps.size());
  canvas.text({box.x + 16 * u, y}, lesson.title + "  ·  " + where, 12, theme.faint);
  y += canvas.line_height(12) + 2 * u;
  std::string body = run.at_question() ? lesson.question : lesson.steps[run.step()].caption;
  if (run.at_question() && run.answered()) body += "\n" + run.answer();
  if (run.at_question() && !run.answered()) body += "\n(Enter shows what this run answers.)";
  // As large as fits: a projector needs large type.
  float points = 19;
  std::vector<std::string> lines;
  for (; points > 11; points -= 1) {
    lines = canvas.wrap(body, points, box.w - 32 * u - buttons * u);
    if (y + static_cast<float>(lines.size()) * canvas.line_height(points) < box.bottom() - 4 * u) break;
  }
  for (const auto& line : lines) {
    canvas.text({box.x + 16 * u, y}, line, points, theme.text);
    y += canvas.line_height(points);
  }
}

}  // namespace

ShownRun::ShownRun(std::unique_ptr<Source> from, const sf::Font& font)
    : source(std::move(from)),
      signals(*source),
      cutaway(*source, signals),
      strips(*source, signals, font),
      overlap(*source, signals),
      mixture(*source) {}

View::View(const sf::Font& font, std::unique_ptr<Source> first, std::unique_ptr<Source> second)
    : first_(std::make_unique<ShownRun>(std::move(first), font)) {
  if (second) {
    second_ = std::make_unique<ShownRun>(std::move(second), font);
    first_->strips.beside(second_->source.get(), &second_->signals, 0.0);
    mode = Mode::beside;
  }
  playback.time = first_->source->first_time();
}

void View::set_lesson(std::unique_ptr<LessonRun> lesson) {
  auto& strips = first_->strips;
  if (lesson_) {
    strips.list() = kept_strips_;
    strips.show_all();
  }
  lesson_ = std::move(lesson);
  look.highlight.clear();
  if (!lesson_) return;
  mode = Mode::cutaway;
  kept_strips_ = strips.list();
  Source& source = *first_->source;
  std::vector<Strip> chosen;
  for (const auto& name : lesson_->lesson().strips) {
    const auto usual = std::find_if(kept_strips_.begin(), kept_strips_.end(),
                                    [&](const Strip& strip) { return strip.name == name; });
    if (usual != kept_strips_.end())
      chosen.push_back(*usual);
    else if (const int channel = source.find(name); channel != no_channel)
      chosen.push_back(strip_of(source, channel, false));
  }
  if (!chosen.empty()) strips.list() = chosen;
  lesson_->go_to(0, playback);
  lesson_step_ = static_cast<std::size_t>(-1);
}

/// Keeps the clock within the step, and shows its span and something of what lies about it.
void View::follow_lesson() {
  lesson_->keep_time(playback);
  const bool question = lesson_->at_question();
  look.highlight = question ? std::vector<Part>() : lesson_->lesson().steps[lesson_->step()].highlight;
  if (lesson_step_ == lesson_->step()) return;
  lesson_step_ = lesson_->step();
  auto& strips = first_->strips;
  const double span = lesson_->to() - lesson_->from();
  Source& source = *first_->source;
  question ? strips.show_all()
           : strips.show(std::max(source.first_time(), lesson_->from() - 0.5 * span),
                         std::min(source.last_time(), lesson_->to() + 0.5 * span));
}

float View::scale_of(Point size, bool large_type) {
  return std::max(0.6F, std::min(size.x / 1280.0F, size.y / 720.0F)) * (large_type ? large : 1.0F);
}

void View::speak(int step) {
  const auto parts = first_->cutaway.hits().parts();
  if (parts.empty()) return;
  const auto at = spoken ? std::find(parts.begin(), parts.end(), *spoken) : parts.end();
  const auto n = static_cast<std::ptrdiff_t>(parts.size());
  std::ptrdiff_t next = step > 0 ? 0 : n - 1;
  if (at != parts.end()) next = (at - parts.begin() + step + n) % n;
  spoken = parts[static_cast<std::size_t>(next)];
}

std::optional<Point> View::middle_of(PartId part) const {
  const auto places = first_->cutaway.hits().places(part);
  if (places.empty()) return std::nullopt;
  return Point(places.front().x + 0.5F * places.front().w, places.front().y + 0.5F * places.front().h);
}

void View::zoom_drawing(double factor, std::optional<Point> about) {
  if (mode != Mode::cutaway) return;
  const Box& box = first_->cutaway.carburetor_stage().box;
  if (look.zoom <= 1.0) {
    if (!about && spoken) about = middle_of(*spoken);
    look.zoom_about = about.value_or(Point(box.x + 0.5F * box.w, box.y + 0.5F * box.h));
  }
  look.zoom = std::clamp(look.zoom * factor, 1.0, 30.0);
}

void View::drag_drawing(Point by) {
  if (mode != Mode::cutaway || look.zoom <= 1.0) return;
  // What lies at `about` stays; so the drawing moves by its distance from there.
  const auto f = static_cast<float>(look.zoom);
  look.zoom_about.x -= by.x / (f - 1.0F);
  look.zoom_about.y -= by.y / (f - 1.0F);
  const Box& box = first_->cutaway.carburetor_stage().box;
  look.zoom_about.x = std::clamp(look.zoom_about.x, box.x, box.right());
  look.zoom_about.y = std::clamp(look.zoom_about.y, box.y, box.bottom());
}

void View::advance(double wall) {
  first_->source->refresh();
  if (second_) second_->source->refresh();
  playback.advance(wall, *first_->source);
  if (lesson_) follow_lesson();
  if (mode == Mode::overlap) return;
  first_->cutaway.advance(drawn_time(*first_));
  if (second_ && mode == Mode::beside) second_->cutaway.advance(drawn_time(*second_));
}

bool View::stroboscope() const {
  return playback.rate > fastest_smooth && moving;
}

double View::drawn_time(ShownRun& run) const {
  const double t = &run == second_.get() ? second_time() : playback.time;
  if (!stroboscope() || run.source->empty()) return t;
  const double angle = Instant(*run.source, t)[run.signals.crank_angle];
  if (!std::isfinite(angle)) return t;
  constexpr double turn = 4.0 * 3.14159265358979323846;
  const double shown = turn * std::floor((angle - strobe_angle) / turn) + strobe_angle;
  return std::clamp(time_of_angle(*run.source, shown), run.source->first_time(), t);
}

/// In the place of the title: nothing is more urgent.
bool View::draw_alarm(Canvas& canvas, const Box& within, ShownRun& run) {
  const std::string alarm =
      run.source->empty() ? "" : run.mixture.alarm(&run == second_.get() ? second_time() : playback.time);
  if (alarm.empty()) return false;
  const std::string text = "DANGER  " + alarm;
  const float u = canvas.scale();
  float points = 13;
  while (points > 8 && canvas.text_width(text, points) + 16 * u > within.w) points -= 0.5F;
  const Box box{within.x, within.y + u, std::min(within.w, canvas.text_width(text, points) + 16 * u),
                within.h - 2 * u};
  canvas.rect(box, theme().danger);
  canvas.clip(box);
  canvas.text({box.x + 8 * u, box.y + 0.5F * (box.h - canvas.line_height(points))}, text, points,
              theme().dark ? sf::Color::Black : sf::Color::White);
  canvas.unclip();
  return true;
}

/// The sizes of one of two runs that the other does not share, four at most.
std::string View::what_differs(bool of_first) const {
  const auto &left = first_->source->geometry(), &right = second_->source->geometry();
  const auto& own = of_first ? left : right;
  std::string text;
  int named = 0;
  for (const auto& part : part_changes()) {
    if (part.fitted(left) != part.fitted(right)) continue;
    if (!part.fitted(own) || std::abs(part.shown(left) - part.shown(right)) < 1e-4) continue;
    if (++named > 4) break;
    text += fmt::format("{}{} {:.2f}{}", text.empty() ? "" : ", ", part.name, part.shown(own),
                        *part.unit == 0 ? "" : std::string(" ") + part.unit);
  }
  if (left.pump_fitted != right.pump_fitted)
    text += (text.empty() ? "" : ", ") + std::string(own.pump_fitted ? "pump" : "no pump");
  return text;
}

double View::second_time() const {
  const double t = playback.time;
  if (!second_ || !align_crank || second_->source->empty()) return t;
  const double a = Instant(*first_->source, t)[first_->signals.crank_angle],
               b = Instant(*second_->source, t)[second_->signals.crank_angle];
  if (!std::isfinite(a) || !std::isfinite(b)) return t;
  constexpr double turn = 4.0 * 3.14159265358979323846;
  return time_of_angle(*second_->source, b + std::remainder(a - b, turn));
}

void View::draw_headline(Canvas& canvas, const Box& box, ShownRun& run) {
  const float u = canvas.scale();
  const Instant now(*run.source, &run == second_.get() ? second_time() : playback.time);
  std::string title = run.source->title();
  if (second_ && mode == Mode::beside) {
    const auto own = what_differs(&run == first_.get());
    if (!own.empty()) title = own + "  ·  " + title;
  }
  std::string text = headline(run, now, playback.rate, mode == Mode::beside);
  if (stroboscope()) text += fmt::format(", drawn at {:.0f}°", strobe_angle * degrees);
  if (run.source->running() && run.source->status() == "running")
    title += "  ·  still running";
  else if (run.source->status() != "complete" && run.source->status() != "running" &&
           run.source->status() != "live")
    title += "  ·  " + run.source->status();
  float points = 12;
  const std::size_t changed = run.source->changed_keys();
  const std::string modified = changed == 0 ? "" : fmt::format("  MODIFIED ({})", changed);
  const auto fits = [&] {
    return canvas.text_width(title + modified, points) + canvas.text_width(text, points) + 40 * u < box.w;
  };
  while (points > 9 && !fits()) points -= 0.5F;
  while (!fits() && title.size() > 8) title = title.substr(0, title.size() - 5) + "…";
  canvas.text({box.right() - 8 * u, box.y + 3 * u}, text, points, theme().text, Align::right);
  const float room = box.w - canvas.text_width(text, points) - 30 * u;
  if (mode != Mode::beside && draw_alarm(canvas, {box.x + 4 * u, box.y, room, box.h}, run)) return;
  canvas.text({box.x + 8 * u, box.y + 3 * u}, title, points,
              &run == first_.get() ? theme().text : theme().second);
  canvas.text({box.x + 8 * u + canvas.text_width(title, points), box.y + 3 * u}, modified, points,
              theme().danger);
}

void View::draw_explanation(Canvas& canvas, const Box& within, ShownRun& run) {
  if (run.source->empty()) return;
  PartId id;
  Point at = pointer;
  if (within.holds(pointer)) id = run.cutaway.hits().find(pointer);
  if (id.part == Part::none && spoken && &run == first_.get()) {
    const auto middle = middle_of(*spoken);
    if (!middle) return;
    id = *spoken;
    at = *middle;
    for (const Box& place : run.cutaway.hits().places(id))
      canvas.frame(place.inset(-4 * canvas.scale()), theme().accent, 2.0F);
  }
  if (id.part == Part::none) return;
  const Instant now(*run.source, playback.time);
  const Explanation e = explain(id, run.signals, now);
  const float u = canvas.scale();
  float width = 250 * u;
  for (const auto* line : {&e.name, &e.size, &e.now})
    width = std::max(width, canvas.text_width(*line, 12) + 24 * u);
  const auto duty = canvas.wrap(e.duty, 12, width - 20 * u);
  const float line = canvas.line_height(12);
  const float height = line * (3.2F + static_cast<float>(duty.size())) + 14 * u;
  Box box{at.x + 16 * u, at.y + 12 * u, width, height};
  if (box.right() > within.right()) box.x = at.x - width - 12 * u;
  if (box.bottom() > within.bottom()) box.y = within.bottom() - height;
  box.x = std::max(box.x, within.x);
  canvas.next_layer();
  canvas.rect(box.inset(-u), theme().edge);
  canvas.rect(box, theme().panel);
  float y = box.y + 6 * u;
  canvas.text({box.x + 10 * u, y}, e.name, 13, theme().text);
  y += 1.2F * line;
  canvas.text({box.x + 10 * u, y}, e.size, 12, theme().faint);
  y += line;
  canvas.text({box.x + 10 * u, y}, e.now, 12, theme().accent);
  y += line;
  for (const auto& text : duty) {
    canvas.text({box.x + 10 * u, y}, text, 12, theme().text);
    y += line;
  }
}

void View::draw_cutaway(Canvas& canvas, const Box& box) {
  const float u = canvas.scale();
  const float head = 22 * u, band = band_height * u, legend = band + 31 * u;
  const float strips = show_strips ? strips_height(box,
                                                   !lesson_     ? 0.33F
                                                   : large_type ? 0.19F
                                                                : 0.26F,
                                                   first_->strips.list().size(), u)
                                   : 0.0F;
  // Large type must not shrink what it speaks of.
  const float lesson = !lesson_ ? 0.0F : large_type ? 76 * u : 96 * u;
  look.few_labels = lesson_ && large_type;
  draw_headline(canvas, {box.x, box.y, box.w, head}, *first_);
  const Box drawing{box.x, box.y + head, box.w, box.h - head - legend - strips - lesson};
  first_->cutaway.draw(canvas, drawing, theme(), drawn_time(*first_), look);
  const Instant now(*first_->source, playback.time);
  draw_share_band(canvas, {box.x + 8 * u, drawing.bottom(), box.w - 16 * u, band}, theme(),
                  {first_->signals, now});
  draw_legend(canvas, {box.x, drawing.bottom() + band + 4 * u, box.w, legend - band - 4 * u}, theme(),
              {{first_->signals, now}});
  lesson_box_ = {};
  if (lesson_) {
    lesson_box_ = {box.x, drawing.bottom() + legend, box.w, lesson};
    draw_lesson(canvas, lesson_box_, theme(), *lesson_);
  }
  if (show_strips) first_->strips.draw(canvas, {box.x, box.bottom() - strips, box.w, strips}, theme(), now);
  draw_explanation(canvas, drawing, *first_);
}

void View::draw_beside(Canvas& canvas, const Box& box) {
  const float u = canvas.scale();
  const float head = 22 * u, legend = 27 * u,
              strips = strips_height(box, 0.30F, first_->strips.list().size(), u);
  const float half = 0.5F * (box.w - 6 * u);
  const float height = box.h - head - legend - strips;
  const Box left{box.x, box.y, half, box.h}, right{box.x + half + 6 * u, box.y, half, box.h};
  Cutaway::Look plain = look;
  plain.labels = plain.loupe = false;
  plain.zoom = 1.0;
  for (auto [run, side] : {std::pair{first_.get(), left}, std::pair{second_.get(), right}}) {
    draw_headline(canvas, {side.x, side.y, side.w, head}, *run);
    run->cutaway.draw(canvas, {side.x, side.y + head, side.w, height - 84 * u}, theme(), drawn_time(*run),
                      plain);
    draw_alarm(canvas, {side.x + 4 * u, side.y + head, 0.62F * side.w, 20 * u}, *run);
  }
  canvas.rect({box.x + half + 2 * u, box.y, 2 * u, height + head - 84 * u}, theme().edge);
  draw_differences(canvas, {box.x, box.y + head + height - 82 * u, box.w, 80 * u}, theme(), *first_->source,
                   *second_->source, playback.time);
  const Instant now(*first_->source, playback.time);
  draw_legend(canvas, {box.x, box.y + head + height, box.w, legend}, theme(),
              {{first_->signals, now}, {second_->signals, Instant(*second_->source, second_time())}});
  first_->strips.draw(canvas, {box.x, box.bottom() - strips, box.w, strips}, theme(), now);
  draw_explanation(canvas, left, *first_);
  draw_explanation(canvas, right, *second_);
}

void View::draw(Canvas& canvas, Point size, const Box& content) {
  canvas.begin(size, scale(size));
  if (mode == Mode::overlap) {
    const Instant now(*first_->source, playback.time);
    if (!now.has_rows()) return;
    first_->overlap.draw(canvas, content, theme(), now, enlarge_overlap);
  } else if (mode == Mode::beside && second_) {
    draw_beside(canvas, content);
  } else {
    draw_cutaway(canvas, content);
  }
}

}  // namespace glassbowl::viz
