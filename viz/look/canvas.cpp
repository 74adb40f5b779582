#include "viz/look/canvas.hpp"

#include <SFML/Graphics/Image.hpp>
#include <SFML/Graphics/View.hpp>
#include <SFML/System/String.hpp>
#include <algorithm>
#include <cmath>

namespace glassbowl::viz {
namespace {

constexpr float large = 1000.0F;  // [px2] from which a shape without transparency is drawn without blending
constexpr unsigned tile = 16;     // [px] of a pattern's texture

bool inked(Pattern pattern, unsigned x, unsigned y) {
  constexpr unsigned step = 8;
  switch (pattern) {
    case Pattern::rising:
      return (x + y) % step < 2;
    case Pattern::falling:
      return (x + tile - y) % step < 2;
    case Pattern::dots:
      return x % step < 3 && y % step < 3;
    case Pattern::level:
      return y % step < 1;
    case Pattern::upright:
      return x % step < 2;
    case Pattern::cross:
      return (x + y) % step < 1 || (x + tile - y) % step < 1;
    default:
      return true;
  }
}

Point unit_across(Point a, Point b) {
  const Point d = b - a;
  const float length = std::hypot(d.x, d.y);
  return length > 1e-6F ? Point(-d.y / length, d.x / length) : Point(0, 0);
}

constexpr unsigned finer = 2;  // glyphs are kept twice as large and shrunk: they may stand between pixels
constexpr unsigned exact_size = 96;  // [px] at which advances are taken: small sizes round them up

sf::String decoded(std::string_view utf8) {
  return sf::String::fromUtf8(utf8.begin(), utf8.end());
}

}  // namespace

Canvas::Canvas(const sf::Font& font) : font_(font), layers_(1) {}

void Canvas::make_patterns() {
  for (std::size_t i = 0; i < patterns_.size(); ++i) {
    sf::Image image;
    image.create(tile, tile, sf::Color(255, 255, 255, 0));
    for (unsigned y = 0; y < tile; ++y)
      for (unsigned x = 0; x < tile; ++x)
        if (inked(static_cast<Pattern>(i), x, y)) image.setPixel(x, y, sf::Color::White);
    patterns_[i].loadFromImage(image);
    patterns_[i].setRepeated(true);
  }
  patterns_made_ = true;
}

void Canvas::begin(Point size, float scale) {
  if (!patterns_made_) make_patterns();
  size_ = size;
  scale_ = scale;
  for (auto& layer : layers_)
    for (auto* batches : {&layer.shapes, &layer.texts})
      for (auto& batch : *batches) batch.vertices.clear();
  layer_ = 0;
  clip_ = {0, 0, size.x, size.y};
}

void Canvas::begin_turn() {
  const auto& batches = layers_[layer_].shapes;
  turned_batch_ = batches.size();
  while (turned_batch_ > 0 && batches[turned_batch_ - 1].vertices.empty()) --turned_batch_;
  turned_vertex_ = 0;
  if (turned_batch_ == 0) return;
  --turned_batch_;  // the last one in use may grow
  turned_vertex_ = batches[turned_batch_].vertices.size();
}

void Canvas::end_turn(Point about, float angle) {
  const float c = std::cos(angle), s = std::sin(angle);
  auto& batches = layers_[layer_].shapes;
  for (std::size_t b = turned_batch_; b < batches.size(); ++b)
    for (std::size_t i = b == turned_batch_ ? turned_vertex_ : 0; i < batches[b].vertices.size(); ++i) {
      Point& at = batches[b].vertices[i].position;
      const Point d = at - about;  // y counts downward here
      at = about + Point(c * d.x + s * d.y, c * d.y - s * d.x);
    }
}

void Canvas::next_layer() {
  if (++layer_ == layers_.size()) layers_.emplace_back();
}

void Canvas::clip(const Box& box) {
  clip_ = box.w > 0 && box.h > 0 ? box : Box{0, 0, size_.x, size_.y};
  // Whole pixels, so that cutting does not blur.
  const float x = std::floor(clip_.x), y = std::floor(clip_.y);
  clip_ = {x, y, std::ceil(clip_.right()) - x, std::ceil(clip_.bottom()) - y};
}

std::vector<sf::Vertex>& Canvas::open(std::vector<Batch>& batches, const sf::Texture* texture, bool in_order,
                                      bool opaque) {
  const auto same = [&](const Batch& b) {
    return b.texture == texture && b.opaque == opaque && b.clip.x == clip_.x && b.clip.y == clip_.y &&
           b.clip.w == clip_.w && b.clip.h == clip_.h;
  };
  // Batches are kept from picture to picture; the empty ones behind those in use may be taken over.
  std::size_t used = batches.size();
  while (used > 0 && batches[used - 1].vertices.empty()) --used;
  if (in_order) {
    if (used > 0 && same(batches[used - 1])) return batches[used - 1].vertices;
  } else {
    for (std::size_t i = 0; i < used; ++i)
      if (same(batches[i])) return batches[i].vertices;
  }
  if (used == batches.size()) batches.emplace_back();
  batches[used].texture = texture;
  batches[used].opaque = opaque;
  batches[used].clip = clip_;
  return batches[used].vertices;
}

std::vector<sf::Vertex>& Canvas::shapes(const sf::Texture* texture, bool opaque) {
  return open(layers_[layer_].shapes, texture, true, opaque);
}

bool Canvas::last_is_opaque() const {
  const auto& batches = layers_[layer_].shapes;
  for (std::size_t i = batches.size(); i-- > 0;)
    if (!batches[i].vertices.empty()) return batches[i].opaque && batches[i].texture == nullptr;
  return false;
}

void Canvas::flush(sf::RenderTarget& target, const Batch& batch) const {
  if (batch.vertices.empty()) return;
  const Box& c = batch.clip;
  sf::View view(sf::FloatRect(c.x, c.y, c.w, c.h));
  view.setViewport({c.x / size_.x, c.y / size_.y, c.w / size_.x, c.h / size_.y});
  target.setView(view);
  sf::RenderStates states;
  states.texture = batch.texture;
  if (batch.opaque) states.blendMode = sf::BlendNone;
  target.draw(batch.vertices.data(), batch.vertices.size(), sf::Triangles, states);
}

void Canvas::draw_to(sf::RenderTarget& target) {
  for (const auto& layer : layers_) {
    for (const auto& batch : layer.shapes) flush(target, batch);
    for (const auto& batch : layer.texts) flush(target, batch);
  }
}

std::size_t Canvas::vertices() const {
  std::size_t sum = 0;
  for (const auto& layer : layers_)
    for (const auto* batches : {&layer.shapes, &layer.texts})
      for (const auto& batch : *batches) sum += batch.vertices.size();
  return sum;
}

void Canvas::quad(const std::array<Point, 4>& p, const std::array<sf::Color, 4>& c) {
  const bool covers = std::all_of(c.begin(), c.end(), [](sf::Color k) { return k.a == 255; });
  const Point d = p[2] - p[0], e = p[3] - p[1];
  const bool opaque = covers && (last_is_opaque() || 0.5F * std::abs(d.x * e.y - d.y * e.x) > large);
  auto& v = shapes(nullptr, opaque);
  for (const std::size_t i : {0U, 1U, 2U, 0U, 2U, 3U}) v.emplace_back(p[i], c[i]);
}

void Canvas::quad(Point a, Point b, Point c, Point d, sf::Color color) {
  quad({a, b, c, d}, {color, color, color, color});
}

void Canvas::rect(const Box& b, sf::Color color) {
  quad({b.x, b.y}, {b.right(), b.y}, {b.right(), b.bottom()}, {b.x, b.bottom()}, color);
}

void Canvas::gradient(const Box& b, sf::Color left, sf::Color right) {
  quad({Point(b.x, b.y), {b.right(), b.y}, {b.right(), b.bottom()}, {b.x, b.bottom()}},
       {left, right, right, left});
}

void Canvas::polygon(std::span<const Point> points, sf::Color color) {
  auto& v = shapes();
  for (std::size_t i = 2; i < points.size(); ++i) {
    v.emplace_back(points[0], color);
    v.emplace_back(points[i - 1], color);
    v.emplace_back(points[i], color);
  }
}

void Canvas::pattern(const std::array<Point, 4>& p, Pattern pattern, sf::Color color) {
  if (pattern == Pattern::solid) return quad(p, {color, color, color, color});
  auto& v = shapes(&patterns_[static_cast<std::size_t>(pattern)]);
  for (const std::size_t i : {0U, 1U, 2U, 0U, 2U, 3U}) v.emplace_back(p[i], color, p[i] / scale_);
}

void Canvas::pattern(const Box& b, Pattern which, sf::Color color) {
  pattern({Point(b.x, b.y), {b.right(), b.y}, {b.right(), b.bottom()}, {b.x, b.bottom()}}, which, color);
}

void Canvas::frame(const Box& b, sf::Color color, float width) {
  const float w = width * scale_;
  rect({b.x, b.y, b.w, w}, color);
  rect({b.x, b.bottom() - w, b.w, w}, color);
  rect({b.x, b.y + w, w, b.h - 2 * w}, color);
  rect({b.right() - w, b.y + w, w, b.h - 2 * w}, color);
}

void Canvas::line(Point a, Point b, sf::Color color, float width) {
  const Point n = unit_across(a, b);
  const float half = std::max(0.0F, 0.5F * width * scale_ - 0.5F);
  const Point inner = n * half, outer = n * (half + 1.0F);
  const sf::Color clear = faded(color, 0.0F);
  if (half > 0.0F) quad(a + inner, b + inner, b - inner, a - inner, color);
  quad({a + outer, b + outer, b + inner, a + inner}, {clear, clear, color, color});
  quad({a - outer, b - outer, b - inner, a - inner}, {clear, clear, color, color});
}

void Canvas::polyline(std::span<const Point> points, sf::Color color, float width) {
  for (std::size_t i = 1; i < points.size(); ++i) line(points[i - 1], points[i], color, width);
}

void Canvas::streak(std::span<const Point> way, sf::Color color, float width) {
  auto& v = shapes();
  const float half = 0.5F * std::max(1.2F, width * scale_);
  const auto pieces = static_cast<float>(way.size() - 1);
  for (std::size_t i = 1; i < way.size(); ++i) {
    const Point n = unit_across(way[i - 1], way[i]) * half;
    const sf::Color tail = faded(color, static_cast<float>(i - 1) / pieces),
                    head = faded(color, static_cast<float>(i) / pieces);
    const std::array<sf::Vertex, 4> corners{sf::Vertex(way[i - 1] + n, tail), sf::Vertex(way[i] + n, head),
                                            sf::Vertex(way[i] - n, head), sf::Vertex(way[i - 1] - n, tail)};
    for (const std::size_t k : {0U, 1U, 2U, 0U, 2U, 3U}) v.push_back(corners[k]);
  }
}

void Canvas::disc(Point c, float radius, sf::Color color) {
  auto& v = shapes();
  const int n = std::clamp(static_cast<int>(radius * 1.6F) + 8, 8, 64);
  const sf::Color clear = faded(color, 0.0F);
  const float in = std::max(0.0F, radius - 0.5F), out = radius + 0.5F;
  Point last(1, 0);
  for (int i = 1; i <= n; ++i) {
    const float a = 6.2831853F * static_cast<float>(i) / static_cast<float>(n);
    const Point next(std::cos(a), std::sin(a));
    v.emplace_back(c, color);
    v.emplace_back(c + last * in, color);
    v.emplace_back(c + next * in, color);
    for (const auto& [p, k] : {std::pair{c + last * in, color},
                               {c + last * out, clear},
                               {c + next * out, clear},
                               {c + last * in, color},
                               {c + next * out, clear},
                               {c + next * in, color}})
      v.emplace_back(p, k);
    last = next;
  }
}

void Canvas::ring(Point c, float radius, sf::Color color, float width) {
  const int n = std::clamp(static_cast<int>(radius * 1.6F) + 8, 12, 64);
  Point last = c + Point(radius, 0);
  for (int i = 1; i <= n; ++i) {
    const float a = 6.2831853F * static_cast<float>(i) / static_cast<float>(n);
    const Point next = c + Point(std::cos(a), std::sin(a)) * radius;
    line(last, next, color, width);
    last = next;
  }
}

void Canvas::dot(Point c, float r, sf::Color color) {
  quad({c.x, c.y - r}, {c.x + r, c.y}, {c.x, c.y + r}, {c.x - r, c.y}, color);
}

void Canvas::picture(const Box& b, const sf::Texture& texture) {
  auto& v = shapes(&texture, true);
  const std::array<Point, 4> p{{{b.x, b.y}, {b.right(), b.y}, {b.right(), b.bottom()}, {b.x, b.bottom()}}};
  const std::array<Point, 4> t{{{0, 0}, {b.w, 0}, {b.w, b.h}, {0, b.h}}};
  for (const std::size_t i : {0U, 1U, 2U, 0U, 2U, 3U}) v.emplace_back(p[i], sf::Color::White, t[i]);
}

void Canvas::arrow(Point from, Point to, sf::Color color, float width) {
  line(from, to, color, width);
  const Point n = unit_across(from, to);
  const Point along(n.y, -n.x);
  const float s = 3.0F * width * scale_;
  const std::array<Point, 3> head{to + along * s * 0.3F, to - along * s + n * s * 0.7F,
                                  to - along * s - n * s * 0.7F};
  polygon(head, color);
}

float Canvas::advance(std::uint32_t code, unsigned size) const {
  return font_.getGlyph(code, exact_size, false).advance * static_cast<float>(size) / exact_size;
}

float Canvas::kerning(std::uint32_t before, std::uint32_t code, unsigned size) const {
  return font_.getKerning(before, code, exact_size) * static_cast<float>(size) / exact_size;
}

unsigned Canvas::pixel_size(float points) const {
  return static_cast<unsigned>(std::max(8.0F, std::round(points * scale_)));
}

void Canvas::text(Point at, std::string_view utf8, float points, sf::Color color, Align align) {
  const unsigned size = pixel_size(points);
  if (align != Align::left) at.x -= text_width(utf8, points) * (align == Align::center ? 0.5F : 1.0F);
  const float base = std::round(at.y + 0.97F * static_cast<float>(size));
  const sf::String string = decoded(utf8);
  for (const sf::Uint32 code : string) font_.getGlyph(code, finer * size, false);  // may enlarge the texture
  auto& v = open(layers_[layer_].texts, &font_.getTexture(finer * size), false);
  constexpr float shrink = 1.0F / finer;
  sf::Uint32 previous = 0;
  for (const sf::Uint32 code : string) {
    at.x += kerning(previous, code, size);
    previous = code;
    const sf::Glyph& g = font_.getGlyph(code, finer * size, false);
    const auto& r = g.textureRect;
    const float forward = advance(code, size);
    if (r.width == 0) {  // a space: its place in the texture holds something else
      at.x += forward;
      continue;
    }
    // One texel more on each side, so that the fading edge is drawn too.
    const float x = at.x + (g.bounds.left - 1) * shrink, y = base + (g.bounds.top - 1) * shrink;
    const float w = static_cast<float>(r.width + 2) * shrink, h = static_cast<float>(r.height + 2) * shrink;
    const auto u = static_cast<float>(r.left - 1), t = static_cast<float>(r.top - 1);
    const std::array<Point, 4> p{{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}};
    const std::array<Point, 4> q{
        {{u, t}, {u + w * finer, t}, {u + w * finer, t + h * finer}, {u, t + h * finer}}};
    for (const std::size_t i : {0U, 1U, 2U, 0U, 2U, 3U}) v.emplace_back(p[i], color, q[i]);
    at.x += forward;
  }
}

float Canvas::text_width(std::string_view utf8, float points) {
  const unsigned size = pixel_size(points);
  float width = 0;
  sf::Uint32 previous = 0;
  for (const sf::Uint32 code : decoded(utf8)) {
    width += kerning(previous, code, size) + advance(code, size);
    previous = code;
  }
  return width;
}

std::vector<std::string> Canvas::wrap(std::string_view utf8, float points, float width) {
  std::vector<std::string> lines;
  std::string line;
  std::size_t at = 0;
  while (at < utf8.size()) {
    const std::size_t end = std::min(utf8.find_first_of(" \n", at), utf8.size());
    const std::string word(utf8.substr(at, end - at));
    const std::string longer = line.empty() ? word : line + " " + word;
    if (!line.empty() && text_width(longer, points) > width) {
      lines.push_back(line);
      line = word;
    } else {
      line = longer;
    }
    if (end < utf8.size() && utf8[end] == '\n') {
      lines.push_back(line);
      line.clear();
    }
    at = end + 1;
  }
  if (!line.empty()) lines.push_back(line);
  return lines;
}

}  // namespace glassbowl::viz
