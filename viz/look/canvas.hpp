#pragma once
#include <SFML/Graphics/Font.hpp>
#include <SFML/Graphics/RenderTarget.hpp>
#include <SFML/Graphics/Texture.hpp>
#include <SFML/Graphics/Vertex.hpp>
#include <array>
#include <cstdint>
#include <initializer_list>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "viz/look/palette.hpp"

namespace glassbowl::viz {

using Point = sf::Vector2f;

struct Box {
  float x = 0, y = 0, w = 0, h = 0;
  float right() const { return x + w; }
  float bottom() const { return y + h; }
  bool holds(Point p) const { return p.x >= x && p.x < right() && p.y >= y && p.y < bottom(); }
  bool meets(const Box& o) const {
    return x < o.right() && o.x < right() && y < o.bottom() && o.y < bottom();
  }
  Box inset(float by) const { return {x + by, y + by, w - 2 * by, h - 2 * by}; }
};

enum class Align { left, center, right };

/// Collects shapes and text in pixels and draws them in few calls. Edges are smoothed by fading, so no
/// multisampling is needed. Within a layer text lies above shapes; layers lie above one another in the order
/// in which they were opened.
class Canvas {
 public:
  explicit Canvas(const sf::Font& font);
  Canvas(const Canvas&) = delete;
  Canvas& operator=(const Canvas&) = delete;

  /// Empties the canvas for a picture of this size; `scale` is 1 at 1280 x 720.
  void begin(Point size, float scale);
  void draw_to(sf::RenderTarget& target);

  /// All shapes until `end_turn` are turned about a point, counterclockwise by an angle [rad]. Not nested,
  /// within one layer, and without text.
  void begin_turn();
  void end_turn(Point about, float angle);

  void next_layer();
  /// Everything until the next call is cut at this box; an empty box: the whole picture.
  void clip(const Box& box);
  void unclip() { clip({}); }

  Point size() const { return size_; }
  float scale() const { return scale_; }

  void rect(const Box& box, sf::Color color);
  void gradient(const Box& box, sf::Color left, sf::Color right);
  void quad(Point a, Point b, Point c, Point d, sf::Color color);
  void quad(const std::array<Point, 4>& points, const std::array<sf::Color, 4>& colors);
  void polygon(std::span<const Point> convex, sf::Color color);
  void pattern(const Box& box, Pattern pattern, sf::Color color);
  void pattern(const std::array<Point, 4>& corners, Pattern pattern, sf::Color color);
  void frame(const Box& box, sf::Color color, float width = 1.0F);
  void line(Point a, Point b, sf::Color color, float width = 1.0F);
  void polyline(std::span<const Point> points, sf::Color color, float width = 1.0F);
  /// A way that fades toward its beginning: two triangles a piece, for the many that particles draw.
  void streak(std::span<const Point> way, sf::Color color, float width);
  void disc(Point center, float radius, sf::Color color);
  void ring(Point center, float radius, sf::Color color, float width = 1.0F);
  /// Small square dot for particles: two triangles.
  void dot(Point center, float radius, sf::Color color);
  /// A picture drawn elsewhere, at its own size.
  void picture(const Box& box, const sf::Texture& texture);
  void arrow(Point from, Point to, sf::Color color, float width = 1.5F);

  /// Text with its top left (or top centre, top right) at `at`. `points` is its size before scaling.
  void text(Point at, std::string_view utf8, float points, sf::Color color, Align align = Align::left);
  float text_width(std::string_view utf8, float points);
  float line_height(float points) const { return points * scale_ * 1.3F; }
  /// Cuts into lines no wider than `width` pixels.
  std::vector<std::string> wrap(std::string_view utf8, float points, float width);

  std::size_t vertices() const;

 private:
  struct Batch {
    const sf::Texture* texture = nullptr;
    bool opaque = false;  // replaces what lies below: much less work for a renderer in software
    Box clip;
    std::vector<sf::Vertex> vertices;
  };
  struct Layer {
    std::vector<Batch> shapes, texts;
  };
  std::vector<sf::Vertex>& open(std::vector<Batch>& batches, const sf::Texture* texture, bool in_order,
                                bool opaque = false);
  std::vector<sf::Vertex>& shapes(const sf::Texture* texture = nullptr, bool opaque = false);
  bool last_is_opaque() const;
  unsigned pixel_size(float points) const;
  float advance(std::uint32_t code, unsigned size) const;  ///< [px] unrounded
  float kerning(std::uint32_t before, std::uint32_t code, unsigned size) const;
  void flush(sf::RenderTarget& target, const Batch& batch) const;
  void make_patterns();

  const sf::Font& font_;
  std::array<sf::Texture, static_cast<std::size_t>(Pattern::count)> patterns_;
  bool patterns_made_ = false;
  std::vector<Layer> layers_;
  std::size_t layer_ = 0;
  std::size_t turned_batch_ = 0, turned_vertex_ = 0;  // first that is turned
  Box clip_;
  Point size_;
  float scale_ = 1.0F;
};

}  // namespace glassbowl::viz
