#include "viz/plots/strips.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace glassbowl::viz {
namespace {

constexpr double lambda_axis_low = 0.6, lambda_axis_high = 1.4;
constexpr float label_points = 12.0F;
constexpr float label_width = 182.0F;  // before scaling, values and levels included
constexpr auto redrawn = std::chrono::milliseconds(120);
constexpr std::size_t rows_per_picture = 400000;  // taken into envelopes between two pictures

/// A level with as many decimals as its step has.
std::string level(double value, double step) {
  const int decimals = std::max(0, static_cast<int>(-std::floor(std::log10(step) + 1e-9)));
  return fmt::format("{:.{}f}", std::abs(value) < 1e-9 * step ? 0.0 : value, decimals);
}

/// A curve's name in few letters.
std::string brief(const std::string& name) {
  if (name.starts_with("cylinder ")) return "c" + name.substr(9);
  return name == "carburetor" ? "carb" : name;
}

/// Lambda is what decides about an engine, so it has the room of three.
float share_of(const Strip& strip) {
  return strip.mixture ? 3.0F : 1.0F;
}

bool enough(double a, double b) {
  return std::isfinite(a) && std::isfinite(b) && b > a;
}

}  // namespace

Strips::Strips(Source& source, const Signals& signals, const sf::Font& font)
    : source_(source),
      signals_(signals),
      mixture_(source),
      strips_(usual_strips(source, signals)),
      curves_(font) {}

void Strips::beside(Source* other, const Signals* signals, double) {
  other_ = other;
  other_strips_ = other != nullptr ? usual_strips(*other, *signals) : std::vector<Strip>();
  key_.clear();
}

void Strips::show(double from, double to) {
  if (!enough(from, to)) return;
  whole_ = false;
  follow_ = 0.0;
  from_ = from;
  to_ = to;
}

void Strips::zoom(double factor, double about) {
  const double least = 1e-4;
  const double span = std::max(least, (to_ - from_) * factor);
  const double share = (about - from_) / (to_ - from_);
  show(about - share * span, about + (1.0 - share) * span);
}

void Strips::pan(double seconds) {
  show(from_ + seconds, to_ + seconds);
}

void Strips::settle_range() {
  const double first = source_.first_time(), last = source_.last_time();
  if (follow_ > 0.0) {
    // Room ahead, so that the cursor moves on while the curves rest.
    to_ = last + 0.05 * follow_;
    from_ = std::max(first, to_ - follow_);
  } else if (whole_) {
    from_ = first;
    to_ = last;
  }
  if (!enough(from_, to_)) to_ = from_ + 1e-3;
}

double Strips::time_at(float x) const {
  return from_ + (to_ - from_) * static_cast<double>((x - plot_left_) / plot_width_);
}

float Strips::x_of(double time) const {
  return plot_left_ + plot_width_ * static_cast<float>((time - from_) / (to_ - from_));
}

float Strips::y_of(std::size_t strip, double value) const {
  const auto& p = plots_.at(strip);
  return p.box.bottom() - p.box.h * static_cast<float>((value - p.low) / (p.high - p.low));
}

Envelope& Strips::envelope(Source& source, int channel) {
  return envelopes_.try_emplace({&source, channel}, channel).first->second;
}

void Strips::lay_out(const Canvas& canvas, const Box& box) {
  const float s = canvas.scale();
  area_ = box;
  plot_left_ = box.x + label_width * s;
  plot_width_ = box.w - (label_width + 10) * s;
  const float axis = 18 * s;
  plots_.resize(strips_.size());
  float shares = 0.0F;
  for (const auto& strip : strips_) shares += share_of(strip);
  const float each = (box.h - axis) / std::max(1.0F, shares);
  float y = box.y;
  for (std::size_t i = 0; i < plots_.size(); ++i) {
    const float next = y + each * share_of(strips_[i]);
    plots_[i].box = {plot_left_, std::round(y) + 2 * s, plot_width_,
                     std::round(next) - std::round(y) - 4 * s};
    y = next;
  }
}

std::pair<double, double> Strips::value_range(const Strip& strip, Source& source) {
  if (strip.mixture) return {lambda_axis_low, lambda_axis_high};
  double low = strip.from_zero ? 0.0 : 1e300, high = -1e300;
  const std::size_t first = source.row_at(from_), end = source.row_at(to_) + 1;
  double stack = 0.0;
  for (const auto& series : strip.series) {
    if (series.per_cycle) continue;
    Spread spread;
    if (strip.stacked) {
      // Greatest mean over a pixel is what the stack can reach.
      const auto& e = envelope(source, series.channel);
      const std::size_t step = std::max<std::size_t>(1, (end - first) / 200);
      double most = 0.0;
      for (std::size_t row = first; row < end; row += step) {
        const Spread piece = e.over(source, row, std::min(end, row + step));
        if (!piece.empty()) most = std::max(most, piece.mean());
      }
      stack += most;
      continue;
    }
    spread = envelope(source, series.channel).over(source, first, end);
    if (spread.empty()) continue;
    low = std::min(low, static_cast<double>(spread.least));
    high = std::max(high, static_cast<double>(spread.greatest));
  }
  if (strip.stacked) high = std::max(high, stack);
  if (strip.mark) low = std::min(low, *strip.mark), high = std::max(high, *strip.mark);
  if (strip.limits) {
    low = std::clamp(low, strip.limits->first, strip.limits->second);
    high = std::clamp(high, strip.limits->first, strip.limits->second);
  }
  if (strip.series.size() == 1 && strip.series[0].per_cycle && source.cycles() > 0) {
    std::vector<double> values(source.cycles());
    source.read_cycles(strip.series[0].channel, 0, values);
    for (const double v : values)
      if (std::isfinite(v)) low = std::min(low, v), high = std::max(high, v);
  }
  if (!(high > low)) {
    const double middle = std::isfinite(low) && std::abs(low) < 1e299 ? low : 0.0;
    const Shown shown = strip.shown.value_or(shown_unit(strip.unit, std::abs(middle)));
    const double half = std::max(std::abs(middle) * 0.05, 0.5 / shown.factor);
    return {strip.from_zero && middle >= 0 ? 0.0 : middle - half, middle + half};
  }
  const double margin = 0.06 * (high - low);
  return {strip.from_zero && low >= 0.0 ? low : low - margin, high + margin};
}

sf::Color Strips::color(const Strip& strip, std::size_t index, const Theme& theme) const {
  const Hue hue = strip.series[index].hue;
  return hue == Hue::count ? theme.text : color_of(hue, theme);
}

void Strips::draw_series(Canvas& canvas, const Plot& plot, Source& source, const Series& series, const Shown&,
                         sf::Color color, float width) {
  const auto& e = envelope(source, series.channel);
  const auto y = [&](double v) {
    return plot.box.bottom() -
           plot.box.h * static_cast<float>(std::clamp((v - plot.low) / (plot.high - plot.low), -0.02, 1.02));
  };
  const std::size_t first = source.row_at(from_), last = source.row_at(to_);
  const double rows_per_pixel = static_cast<double>(last - first) / static_cast<double>(plot_width_);
  if (rows_per_pixel < 2.0) {
    Point before;
    bool joined = false;
    for (std::size_t row = first; row <= std::min(last + 1, source.end_row() - 1); ++row) {
      const double v = source.value(series.channel, row);
      const Point at(x_of(source.row_time(row)), y(v));
      if (!std::isfinite(v)) {
        joined = false;
        continue;
      }
      if (joined && inked(series.dash, at.x / canvas.scale())) canvas.line(before, at, color, width);
      before = at;
      joined = true;
    }
    return;
  }
  const int columns = static_cast<int>(plot_width_);
  std::size_t row = first;
  float last_low = 0, last_high = 0;
  bool joined = false;
  const double step = (to_ - from_) / columns;
  for (int c = 0; c < columns; ++c) {
    const double until = from_ + step * (c + 1);
    if (until < source.row_time(row)) continue;
    const std::size_t end = std::min(source.row_at(until) + 1, last + 1);
    if (end <= row) continue;
    const Spread spread = e.over(source, row, end);
    row = end;
    if (spread.empty()) {
      joined = false;
      continue;
    }
    float low = y(static_cast<double>(spread.least)), high = y(static_cast<double>(spread.greatest));
    const float own_low = low, own_high = high;
    if (joined) {  // no gap to the column before
      if (high > last_low) high = last_low;
      if (low < last_high) low = last_high;
    }
    const float x = plot_left_ + static_cast<float>(c);
    const float pen = width * canvas.scale();
    if (inked(series.dash, x / canvas.scale()) || low - high > 3 * pen)
      canvas.rect({x, high - 0.5F * pen, 1.0F, std::max(pen, low - high + pen)}, color);
    last_low = own_low;
    last_high = own_high;
    joined = true;
    if (row > last) break;
  }
}

void Strips::draw_cycles(Canvas& canvas, const Plot& plot, Source& source, const Series& series, const Shown&,
                         sf::Color color, float width) {
  const int start = source.find_cycle("cycle_start"), duration = source.find_cycle("cycle_duration");
  const std::size_t n = source.cycles();
  if (start == no_channel || duration == no_channel || n == 0) return;
  std::vector<double> t(n), d(n), v(n);
  source.read_cycles(start, 0, t);
  source.read_cycles(duration, 0, d);
  source.read_cycles(series.channel, 0, v);
  Point before;
  bool joined = false;
  for (std::size_t i = 0; i < n; ++i) {
    if (t[i] + d[i] < from_ || t[i] > to_ || !std::isfinite(v[i])) {
      joined = false;
      continue;
    }
    const float y =
        plot.box.bottom() -
        plot.box.h * static_cast<float>(std::clamp((v[i] - plot.low) / (plot.high - plot.low), -0.02, 1.02));
    const Point a(x_of(t[i]), y), b(x_of(t[i] + d[i]), y);
    if (joined) canvas.line(before, a, color, width);
    if (series.dash == Dash::solid) canvas.line(a, b, color, width);
    for (float x = a.x; series.dash != Dash::solid && x < b.x; x += 2.0F)
      if (inked(series.dash, x / canvas.scale()))
        canvas.line({x, y}, {std::min(x + 2.0F, b.x), y}, color, width);
    before = b;
    joined = true;
  }
}

void Strips::draw_stacked(Canvas& canvas, std::size_t index, const Theme& theme) {
  const Strip& strip = strips_[index];
  const Plot& plot = plots_[index];
  const std::size_t last = source_.row_at(to_);
  const int columns = static_cast<int>(plot_width_);
  const double step = (to_ - from_) / columns;
  std::size_t row = source_.row_at(from_);
  const float per_unit = plot.box.h / static_cast<float>(plot.high - plot.low);
  std::vector<std::vector<Box>> bars(strip.series.size());
  for (int c = 0; c < columns; ++c) {
    const double until = from_ + step * (c + 1);
    if (until < source_.first_time() || until - step > source_.last_time()) continue;
    std::size_t end = std::min(source_.row_at(until) + 1, last + 1);
    const std::size_t begin = end > row ? row : source_.row_at(until);
    end = std::max(end, begin + 1);
    float base = plot.box.bottom();
    const float x = plot_left_ + static_cast<float>(c);
    for (std::size_t i = 0; i < strip.series.size(); ++i) {
      const Spread spread = envelope(source_, strip.series[i].channel).over(source_, begin, end);
      if (spread.empty()) continue;
      const float high = static_cast<float>(std::max(0.0, spread.mean())) * per_unit;
      if (high < 0.02F) continue;
      const Box box{x, std::max(plot.box.y, base - high), 1.0F, std::min(high, base - plot.box.y)};
      bars[i].push_back(box);
      base -= high;
    }
    row = std::max(row, end);
  }
  // One series after another, so that each pattern is set once.
  for (std::size_t i = 0; i < bars.size(); ++i) {
    const sf::Color hue = color(strip, i, theme);
    for (const Box& box : bars[i])
      canvas.rect(box, theme.print ? ground_of(strip.series[i].hue, theme) : faded(hue, 0.72F));
    for (const Box& box : bars[i]) canvas.pattern(box, pattern_of(strip.series[i].hue), hue);
  }
}

void Strips::draw_strip(Canvas& canvas, std::size_t index, const Theme& theme) {
  const Strip& strip = strips_[index];
  Plot& plot = plots_[index];
  canvas.rect(plot.box, theme.panel);
  // Of the other run the strip of the same name: the two may have different ones.
  const auto same = std::find_if(other_strips_.begin(), other_strips_.end(), [&](const Strip& o) {
    return o.name == strip.name && o.unit == strip.unit;
  });
  const Strip* other = other_ != nullptr && same != other_strips_.end() ? &*same : nullptr;
  std::tie(plot.low, plot.high) = value_range(strip, source_);
  if (other != nullptr) {
    const auto [low, high] = value_range((*other), *other_);
    plot.low = std::min(plot.low, low);
    plot.high = std::max(plot.high, high);
  }
  const Shown shown =
      strip.shown.value_or(shown_unit(strip.unit, std::max(std::abs(plot.low), std::abs(plot.high))));
  plot.shown = shown;

  // Levels, as many as there is room for; a low strip has its lowest and highest one.
  const double low = shown.of(plot.low), high = shown.of(plot.high);
  const float text_height = 1.2F * (label_points - 2) * canvas.scale();
  const int room = static_cast<int>(plot.box.h / (1.6F * text_height));
  double step = nice_step(high - low, std::max(2, room));
  if (std::floor(high / step) - std::ceil(low / step) < 1.0) step = nice_step(high - low, 4);
  plot.levels = 0.0F;
  double written = 1e30;  // [px] of the level named last
  for (double v = std::ceil(low / step) * step; v <= high; v += step) {
    const float y = plot.box.bottom() - plot.box.h * static_cast<float>((v - low) / (high - low));
    canvas.line({plot.box.x, y}, {plot.box.right(), y}, theme.grid, 1.0F);
    const float top = std::clamp(y - 0.5F * text_height, plot.box.y - 2, plot.box.bottom() + 2 - text_height);
    if (static_cast<double>(top + text_height) > written) continue;
    canvas.text({plot.box.x - 5 * canvas.scale(), top}, level(v, step), label_points - 2, theme.faint,
                Align::right);
    plot.levels = std::max(plot.levels, canvas.text_width(level(v, step), label_points - 2));
    written = static_cast<double>(top);
  }
  if (strip.mark) {
    const float y =
        plot.box.bottom() - plot.box.h * static_cast<float>((shown.of(*strip.mark) - low) / (high - low));
    canvas.line({plot.box.x, y}, {plot.box.right(), y}, theme.faint, 1.0F);
  }
  const std::string unit = shown.unit.empty() ? "" : " [" + shown.unit + "]";
  canvas.text({area_.x + 4 * canvas.scale(), plot.box.y - 1}, strip.name + unit, label_points, theme.text);

  canvas.clip(plot.box);
  if (strip.mixture) draw_limits(canvas, plot, theme);
  if (strip.stacked) {
    draw_stacked(canvas, index, theme);
  } else {
    if (other != nullptr)
      for (std::size_t i = 0; i < other->series.size(); ++i) {
        const auto& series = other->series[i];
        (series.per_cycle ? draw_cycles(canvas, plot, *other_, series, shown, theme.second, 1.4F)
                          : draw_series(canvas, plot, *other_, series, shown, theme.second, 1.2F));
      }
    for (std::size_t i = 0; i < strip.series.size(); ++i) {
      const sf::Color c = color(strip, i, theme);
      (strip.series[i].per_cycle ? draw_cycles(canvas, plot, source_, strip.series[i], shown, c, 1.8F)
                                 : draw_series(canvas, plot, source_, strip.series[i], shown, c, 1.3F));
    }
  }
  if (strip.mixture) {
    draw_misfires(canvas, plot, theme);
    draw_beyond(canvas, plot, source_, strip, theme);
  }
  canvas.unclip();
}

/// The lean limit of each cycle as a band, and the rich limit.
void Strips::draw_limits(Canvas& canvas, const Plot& plot, const Theme& theme) {
  const auto y = [&](double v) {
    return plot.box.bottom() - plot.box.h * static_cast<float>((v - plot.low) / (plot.high - plot.low));
  };
  const float rich = y(sim::rich_limit());
  canvas.pattern({plot.box.x, rich, plot.box.w, plot.box.bottom() - rich}, Pattern::rising,
                 faded(theme.faint, 0.35F));
  canvas.line({plot.box.x, rich}, {plot.box.right(), rich}, theme.faint, 1.0F);
  float last = -1.0F;
  for (const auto& cycle : mixture_.between(from_, to_)) {
    const Box column{x_of(cycle.start), plot.box.y, x_of(cycle.start + cycle.duration) - x_of(cycle.start),
                     y(cycle.limit) - plot.box.y};
    canvas.rect(column, faded(theme.danger, 0.22F));
    const float low = column.bottom();
    canvas.line({column.x, low}, {column.right(), low}, theme.danger, 1.2F);
    if (last >= 0.0F) canvas.line({column.x, last}, {column.x, low}, theme.danger, 1.2F);
    last = low;
  }
  const float u = canvas.scale(), size = label_points - 2.5F;
  if (plot.box.h < 46 * u) return;
  const auto note = [&](float x, float y_top, const char* text, sf::Color color) {
    const float width = canvas.text_width(text, size) + 6 * u;
    const Box box{x, y_top, width, canvas.line_height(size)};
    canvas.rect(box, faded(theme.panel, 0.85F));
    canvas.text({box.x + 3 * u, box.y}, text, size, color);
  };
  if (last >= 0.0F) note(plot.box.x + 4 * u, plot.box.y + u, "beyond the lean limit", theme.danger);
  const char* text = "beyond the rich limit";
  note(plot.box.right() - canvas.text_width(text, size) - 10 * u,
       plot.box.bottom() - canvas.line_height(size), text, theme.faint);
}

/// A tick for every charge that did not burn, a row for each cylinder.
void Strips::draw_misfires(Canvas& canvas, const Plot& plot, const Theme& theme) {
  const float u = canvas.scale();
  std::array<float, 16> written{};  // [px] of each cylinder's last tick
  bool any = false;
  for (const auto& cycle : mixture_.between(from_, to_))
    for (std::size_t k = 0; k < std::min(cycle.cylinders.size(), written.size()); ++k) {
      if (cycle.cylinders[k].fired) continue;
      const float x = x_of(cycle.start + 0.5 * cycle.duration);
      if (x < written[k] + 5 * u) continue;
      written[k] = x;
      const float y = plot.box.bottom() - 3 * u - 8 * u * static_cast<float>(cycle.cylinders.size() - k);
      canvas.line({x - 2 * u, y}, {x + 2 * u, y + 6 * u}, theme.danger, 1.3F);
      canvas.line({x + 2 * u, y}, {x - 2 * u, y + 6 * u}, theme.danger, 1.3F);
      any = true;
    }
  if (!any) return;
  const std::string text = "x misfire";
  const float size = label_points - 2.5F, width = canvas.text_width(text, size);
  const Box box{plot.box.x + 4 * u, plot.box.bottom() - canvas.line_height(size) - 2 * u, width + 6 * u,
                canvas.line_height(size)};
  canvas.rect(box, faded(theme.panel, 0.85F));
  canvas.text({box.x + 3 * u, box.y}, text, size, theme.danger);
}

/// Curves that leave the axis are marked at its edge, with the value farthest out.
void Strips::draw_beyond(Canvas& canvas, const Plot& plot, Source& source, const Strip& strip,
                         const Theme& theme) {
  const float u = canvas.scale(), points = label_points - 2;
  if (source.empty()) return;
  float taken_top = -1e9F, taken_low = -1e9F;  // [px] right ends of values that are written already
  for (std::size_t k = 0; k < strip.series.size(); ++k) {
    const auto& series = strip.series[k];
    const auto value = [&](double t) {
      const Instant at(source, t);
      return series.per_cycle ? at.cycle(series.channel) : source.value(series.channel, source.row_at(t));
    };
    const double step = (to_ - from_) * static_cast<double>(4 * u / plot.box.w);
    double extreme = std::nan(""), began = 0.0;
    const auto write = [&](double until) {
      if (!std::isfinite(extreme)) return;
      const bool above = extreme > plot.high;
      const float x = 0.5F * (x_of(began) + x_of(until));
      const float edge = above ? plot.box.y + u : plot.box.bottom() - u, inward = above ? 6 * u : -6 * u;
      canvas.polygon(
          std::array{Point(x, edge), Point(x + 4 * u, edge + inward), Point(x - 4 * u, edge + inward)},
          color(strip, k, theme));
      const std::string text = lambda_text(extreme);
      float& taken = above ? taken_top : taken_low;
      const float left = std::max(x + 6 * u, taken + 6 * u), width = canvas.text_width(text, points);
      if (left < x + 90 * u && left + width < plot.box.right()) {
        canvas.rect({left - 2 * u, above ? edge - u : edge - canvas.line_height(points), width + 4 * u,
                     canvas.line_height(points)},
                    faded(theme.panel, 0.85F));
        canvas.text({left, above ? edge - 2 * u : edge - canvas.line_height(points)}, text, points,
                    color(strip, k, theme));
        taken = left + width;
      }
      extreme = std::nan("");
    };
    for (double t = std::max(from_, source.first_time()); t <= std::min(to_, source.last_time()); t += step) {
      const double v = value(t);
      const bool out = v > plot.high || v < plot.low;
      if (std::isfinite(extreme) && (!out || (extreme > plot.high) != (v > plot.high))) write(t);
      if (!out) continue;
      if (!std::isfinite(extreme)) extreme = v, began = t;
      extreme = v > plot.high ? std::max(extreme, v) : std::min(extreme, v);
    }
    write(std::min(to_, source.last_time()));
  }
}

void Strips::render(const Theme& theme, float scale) {
  const auto width = static_cast<unsigned>(std::ceil(area_.w)),
             height = static_cast<unsigned>(std::ceil(area_.h));
  if (picture_.getSize() != sf::Vector2u(width, height)) picture_.create(width, height);
  // The picture has its own origin; boxes are moved there and back.
  const Point shift(area_.x, area_.y);
  area_.x = area_.y = 0;
  plot_left_ -= shift.x;
  for (auto& plot : plots_) plot.box.x -= shift.x, plot.box.y -= shift.y;
  curves_.begin({static_cast<float>(width), static_cast<float>(height)}, scale);
  curves_.rect({0, 0, static_cast<float>(width), static_cast<float>(height)}, theme.background);
  if (!source_.empty())
    for (std::size_t i = 0; i < strips_.size(); ++i) draw_strip(curves_, i, theme);

  // Time axis.
  const double step = nice_step(to_ - from_, static_cast<int>(plot_width_ / (90 * scale)));
  const float y = area_.h - 17 * scale;
  for (double t = std::ceil(from_ / step) * step; t <= to_ + 1e-12; t += step) {
    if (std::abs(t) < 1e-9 * step) t = 0.0;
    const float x = x_of(t);
    curves_.line({x, y}, {x, y + 4 * scale}, theme.faint);
    const std::string label = step < 0.0095 ? fmt::format("{:.1f} ms", t * 1e3)
                                            : fmt::format("{:.{}f} s", t,
                                                          step < 0.095  ? 2
                                                          : step < 0.95 ? 1
                                                                        : 0);
    const float half = 0.5F * curves_.text_width(label, label_points - 1), right = plot_left_ + plot_width_;
    curves_.text({std::min(x, right - half + 8 * scale), y + 3 * scale}, label, label_points - 1, theme.faint,
                 Align::center);
  }
  picture_.clear(theme.background);
  curves_.draw_to(picture_);
  picture_.display();
  area_.x = shift.x;
  area_.y = shift.y;
  plot_left_ += shift.x;
  for (auto& plot : plots_) plot.box.x += shift.x, plot.box.y += shift.y;
}

void Strips::draw(Canvas& canvas, const Box& box, const Theme& theme, const Instant& now,
                  const std::vector<double>& other_times) {
  // A run that goes on changes the curves all the time: some pictures a second are enough for them.
  const auto wall = std::chrono::steady_clock::now();
  const Box whole{std::floor(box.x), std::floor(box.y), std::floor(box.w), std::floor(box.h)};
  const bool rest = source_.running() && !key_.empty() && wall - drawn_ < redrawn && area_.w == whole.w &&
                    area_.h == whole.h && area_.y == whole.y;
  if (rest) return draw_cursor(canvas, theme, now, other_times);
  settle_range();
  std::size_t budget = rows_per_picture;
  complete_ = true;
  const auto take_in = [&](Source& source, const std::vector<Strip>& strips) {
    for (const auto& strip : strips)
      for (const auto& series : strip.series) {
        if (series.per_cycle) continue;
        auto& e = envelope(source, series.channel);
        const std::size_t before = e.done();
        if (!e.advance(source, budget)) complete_ = false;
        budget -= std::min(budget, e.done() - std::min(before, e.done()));
      }
  };
  take_in(source_, strips_);
  if (other_ != nullptr) take_in(*other_, other_strips_);

  std::string key = fmt::format("{} {} {} {} {} {} {} {} {}", box.x, box.y, box.w, box.h, from_, to_,
                                source_.end_row(), (theme.dark ? 1 : 0) + (theme.print ? 2 : 0), complete_);
  for (const auto& strip : strips_) key += strip.name;
  if (key != key_ || !complete_) {
    lay_out(canvas, whole);
    render(theme, canvas.scale());
    key_ = key;
    drawn_ = wall;
  }
  draw_cursor(canvas, theme, now, other_times);
}

/// Present values below the names, each in its curve's colour.
void Strips::draw_values(Canvas& canvas, const Theme& theme, const Instant& now) {
  const float u = canvas.scale(), points = label_points - 1;
  for (std::size_t i = 0; i < strips_.size() && i < plots_.size(); ++i) {
    const Strip& strip = strips_[i];
    const Plot& plot = plots_[i];
    const bool below = plot.box.h > canvas.line_height(label_points) + canvas.line_height(points) - 5 * u;
    float x = area_.x + 4 * u;
    if (!below) x += canvas.text_width(strip.name + " [" + plot.shown.unit + "]", label_points) + 10 * u;
    const float end = plot.box.x - plot.levels - 9 * u;
    const float y = below ? plot.box.y + canvas.line_height(label_points) - 3 * u : plot.box.y;
    if (strip.stacked) {
      double sum = 0.0;
      for (const auto& series : strip.series) sum += std::max(0.0, now[series.channel]);
      const std::string text = figures(plot.shown.of(sum)) + " in all now";
      if (x + canvas.text_width(text, points) < end) canvas.text({x, y}, text, points, theme.faint);
      continue;
    }
    for (std::size_t k = 0; k < strip.series.size(); ++k) {
      const auto& series = strip.series[k];
      const double v = series.per_cycle ? now.cycle(series.channel) : now[series.channel];
      std::string text = strip.mixture ? lambda_text(v) : std::isfinite(v) ? figures(plot.shown.of(v)) : "–";
      if (strip.series.size() > 1 && below) text = brief(series.name) + " " + text;
      const float width = canvas.text_width(text, points);
      if (x + width > end) break;
      canvas.text({x, y}, text, points, color(strip, k, theme));
      x += width + 7 * u;
    }
  }
}

/// The finished curves, the cursor over them, and each curve's present value.
void Strips::draw_cursor(Canvas& canvas, const Theme& theme, const Instant& now,
                         const std::vector<double>& other_times) {
  canvas.picture(area_, picture_.getTexture());
  if (now.has_rows()) draw_values(canvas, theme, now);

  const float x = x_of(now.time());
  if (x >= plot_left_ && x <= plot_left_ + plot_width_) {
    canvas.rect(
        {std::round(x), area_.y, std::max(1.0F, std::round(canvas.scale())), area_.h - 17 * canvas.scale()},
        theme.cursor);
    for (std::size_t i = 0; i < strips_.size(); ++i) {
      if (strips_[i].stacked) continue;
      for (std::size_t k = 0; k < strips_[i].series.size(); ++k) {
        const auto& series = strips_[i].series[k];
        if (series.per_cycle) continue;
        const double v = now[series.channel];
        if (!std::isfinite(v) || v < plots_[i].low || v > plots_[i].high) continue;
        canvas.disc({x, y_of(i, v)}, 3.2F * canvas.scale(), color(strips_[i], k, theme));
        canvas.ring({x, y_of(i, v)}, 3.2F * canvas.scale(), theme.background, 1.0F);
      }
    }
  }
  for (const double t : other_times) {
    const float at = x_of(t);
    if (at >= plot_left_ && at <= plot_left_ + plot_width_)
      canvas.rect({std::round(at), area_.y, 1.0F, area_.h - 17 * canvas.scale()}, theme.cursor);
  }
}

}  // namespace glassbowl::viz
