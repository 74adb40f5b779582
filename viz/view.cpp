#include "viz/view.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "viz/cutaway/explain.hpp"
#include "viz/plots/differences.hpp"

namespace glassbowl::viz {
namespace {

constexpr double degrees = 180.0 / 3.14159265358979323846;

std::string rate_text(double rate) {
  return rate >= 0.999 ? "real time" : fmt::format("1/{:.0f} of real time", 1.0 / rate);
}

std::string headline(ShownRun& run, const Instant& now, double rate) {
  const auto& s = run.signals;
  std::string text = fmt::format("t {:.4f} s", now.time());
  const double speed = now[s.speed], angle = now[s.crank_angle] * degrees, throttle = now[s.throttle];
  if (std::isfinite(angle))
    text += fmt::format("    crank {:.0f}°", std::fmod(std::fmod(angle, 720.0) + 720.0, 720.0));
  if (std::isfinite(speed)) text += fmt::format("    {:.0f} 1/min", speed * 30.0 / 3.14159265358979);
  if (std::isfinite(throttle)) text += fmt::format("    throttle {:.1f} %", throttle * 100.0);
  if (const double p = now[s.manifold_pressure]; std::isfinite(p))
    text += fmt::format("    manifold {:.1f} kPa", p * 1e-3);
  if (const double l = now[s.trapped_lambda.empty() ? no_channel : s.trapped_lambda.front()];
      std::isfinite(l))
    text += fmt::format("    λ cylinder 1 {:.2f}", l);
  if (const double a = now[s.altitude]; std::isfinite(a) && std::abs(a) > 0.5)
    text += fmt::format("    altitude {:.0f} m", a);
  return text + "    " + rate_text(rate);
}

void draw_lesson(Canvas& canvas, const Box& box, const Theme& theme, const LessonRun& run) {
  const float u = canvas.scale();
  canvas.rect(box, theme.panel);
  canvas.rect({box.x, box.y, 4 * u, box.h}, theme.warning);
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
    lines = canvas.wrap(body, points, box.w - 32 * u);
    if (y + static_cast<float>(lines.size()) * canvas.line_height(points) < box.bottom() - 4 * u) break;
  }
  for (const auto& line : lines) {
    canvas.text({box.x + 16 * u, y}, line, points, theme.text);
    y += canvas.line_height(points);
  }
}

}  // namespace

float scale_for(Point size) {
  return std::max(0.6F, std::min(size.x / 1280.0F, size.y / 720.0F));
}

ShownRun::ShownRun(std::unique_ptr<Source> from, const sf::Font& font)
    : source(std::move(from)),
      signals(*source),
      cutaway(*source, signals),
      strips(*source, signals, font),
      overlap(*source, signals) {}

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
  lesson_ = std::move(lesson);
  look.highlight.clear();
  if (!lesson_) return;
  mode = Mode::cutaway;
  lesson_->go_to(0, playback);
}

void View::advance(double wall) {
  first_->source->refresh();
  if (second_) second_->source->refresh();
  playback.advance(wall, *first_->source);
  if (lesson_) {
    lesson_->keep_time(playback);
    look.highlight =
        lesson_->at_question() ? std::vector<Part>() : lesson_->lesson().steps[lesson_->step()].highlight;
  }
  if (mode == Mode::overlap) return;
  first_->cutaway.advance(playback.time);
  if (second_ && mode == Mode::beside) second_->cutaway.advance(playback.time);
}

void View::draw_headline(Canvas& canvas, const Box& box, ShownRun& run) {
  const float u = canvas.scale();
  const Instant now(*run.source, std::min(playback.time, run.source->last_time()));
  std::string title = run.source->title();
  const std::string text = headline(run, now, playback.rate);
  if (run.source->running() && run.source->status() == "running")
    title += "  ·  still running";
  else if (run.source->status() != "complete" && run.source->status() != "running" &&
           run.source->status() != "live")
    title += "  ·  " + run.source->status();
  float points = 12;
  const auto fits = [&] {
    return canvas.text_width(title, points) + canvas.text_width(text, points) + 40 * u < box.w;
  };
  while (points > 9 && !fits()) points -= 0.5F;
  while (!fits() && title.size() > 8) title = title.substr(0, title.size() - 5) + "…";
  canvas.text({box.x + 8 * u, box.y + 3 * u}, title, points, theme().text);
  canvas.text({box.right() - 8 * u, box.y + 3 * u}, text, points, theme().text, Align::right);
}

void View::draw_explanation(Canvas& canvas, const Box& within, ShownRun& run) {
  if (!within.holds(pointer) || run.source->empty()) return;
  const PartId id = run.cutaway.hits().find(pointer);
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
  Box box{pointer.x + 16 * u, pointer.y + 12 * u, width, height};
  if (box.right() > within.right()) box.x = pointer.x - width - 12 * u;
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
  const float head = 22 * u, legend = 27 * u;
  const float strips =
      show_strips ? (lesson_ ? std::max(0.26F * box.h, 150 * u) : std::max(0.33F * box.h, 190 * u)) : 0.0F;
  const float lesson = lesson_ ? 96 * u : 0.0F;
  draw_headline(canvas, {box.x, box.y, box.w, head}, *first_);
  const Box drawing{box.x, box.y + head, box.w, box.h - head - legend - strips - lesson};
  first_->cutaway.draw(canvas, drawing, theme(), playback.time, look);
  const Instant now(*first_->source, playback.time);
  draw_legend(canvas, {box.x, drawing.bottom(), box.w, legend}, theme(), first_->signals, now);
  if (lesson_) draw_lesson(canvas, {box.x, drawing.bottom() + legend, box.w, lesson}, theme(), *lesson_);
  if (show_strips) first_->strips.draw(canvas, {box.x, box.bottom() - strips, box.w, strips}, theme(), now);
  draw_explanation(canvas, drawing, *first_);
}

void View::draw_beside(Canvas& canvas, const Box& box) {
  const float u = canvas.scale();
  const float head = 22 * u, legend = 27 * u, strips = std::max(0.30F * box.h, 180 * u);
  const float half = 0.5F * (box.w - 6 * u);
  const float height = box.h - head - legend - strips;
  const Box left{box.x, box.y, half, box.h}, right{box.x + half + 6 * u, box.y, half, box.h};
  Cutaway::Look plain = look;
  plain.labels = plain.loupe = false;
  plain.zoom = 1.0;
  for (auto [run, side] : {std::pair{first_.get(), left}, std::pair{second_.get(), right}}) {
    draw_headline(canvas, {side.x, side.y, side.w, head}, *run);
    run->cutaway.draw(canvas, {side.x, side.y + head, side.w, height - 84 * u}, theme(), playback.time,
                      plain);
  }
  canvas.rect({box.x + half + 2 * u, box.y, 2 * u, height + head - 84 * u}, theme().edge);
  draw_differences(canvas, {box.x, box.y + head + height - 82 * u, box.w, 80 * u}, theme(), *first_->source,
                   first_->signals, *second_->source, second_->signals, playback.time);
  const Instant now(*first_->source, playback.time);
  draw_legend(canvas, {box.x, box.y + head + height, box.w, legend}, theme(), first_->signals, now);
  first_->strips.draw(canvas, {box.x, box.bottom() - strips, box.w, strips}, theme(), now);
  canvas.text({box.x + 4 * u, box.bottom() - 16 * u}, "grey: right-hand run", 10.5F, theme().faint);
  draw_explanation(canvas, left, *first_);
  draw_explanation(canvas, right, *second_);
}

void View::draw(Canvas& canvas, Point size, const Box& content) {
  canvas.begin(size, scale_for(size));
  canvas.rect({0, 0, size.x, size.y}, theme().background);
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
