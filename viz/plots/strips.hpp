#pragma once
#include <SFML/Graphics/RenderTexture.hpp>
#include <chrono>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "viz/look/canvas.hpp"
#include "viz/look/units.hpp"
#include "viz/plots/envelope.hpp"
#include "viz/plots/mixture.hpp"
#include "viz/source/signals.hpp"

namespace glassbowl::viz {

/// One curve: a crank-resolved channel, or a cycle-averaged one drawn as steps.
struct Series {
  int channel = no_channel;
  bool per_cycle = false;
  std::string name;
  Hue hue = Hue::count;  ///< `count`: the neutral colour of lines
  Dash dash = Dash::solid;
};

struct Strip {
  std::string name;
  std::string unit;  ///< as in the channels
  std::vector<Series> series;
  bool stacked = false;
  bool from_zero = false;
  std::optional<std::pair<double, double>> limits = {};  ///< [unit] never shown beyond
  std::optional<Shown> shown = {};                       ///< instead of the usual unit
  std::optional<double> mark = {};                       ///< [unit] always shown, with a line of its own
  bool mixture = false;  ///< lambda: a fixed axis, limits, misfires, and marks for what lies beyond
};

/// The strips that are shown first, those of them whose channels the source has.
std::vector<Strip> usual_strips(const Source& source, const Signals& signals);

/// A strip of one channel, whatever it is.
Strip strip_of(const Source& source, int channel, bool per_cycle);

/// Curves over time, one above another, with a shared cursor.
class Strips {
 public:
  Strips(Source& source, const Signals& signals, const sf::Font& font);

  std::vector<Strip>& list() { return strips_; }
  const std::vector<Strip>& list() const { return strips_; }

  /// Time shown; the whole run until zoomed.
  double from() const { return from_; }
  double to() const { return to_; }
  void show(double from, double to);
  void show_all() {
    whole_ = true;
    follow_ = 0.0;
  }
  void zoom(double factor, double about);
  void pan(double seconds);
  /// Shows the last seconds of a live run.
  void follow(double seconds) { follow_ = seconds; }

  void draw(Canvas& canvas, const Box& box, const Theme& theme, const Instant& now,
            const std::vector<double>& other_times = {});

  /// Where things were drawn last.
  double time_at(float x) const;
  float x_of(double time) const;
  Box plot(std::size_t strip) const { return plots_.at(strip).box; }
  /// Pixel height of a value [unit of the strip's channels] in a strip.
  float y_of(std::size_t strip, double value) const;
  Box area() const { return area_; }

  /// Second run in the same strips, drawn fainter, for comparison.
  void beside(Source* other, const Signals* signals, double shift);

 private:
  struct Plot {
    Box box;
    double low = 0.0, high = 1.0;
    Shown shown;
    float levels = 0.0F;  ///< [px] room that the names of its levels take
  };
  void draw_cursor(Canvas& canvas, const Theme& theme, const Instant& now,
                   const std::vector<double>& other_times);
  void draw_values(Canvas& canvas, const Theme& theme, const Instant& now);
  void settle_range();
  void lay_out(const Canvas& canvas, const Box& box);
  void render(const Theme& theme, float scale);
  void draw_strip(Canvas& canvas, std::size_t index, const Theme& theme);
  void draw_series(Canvas& canvas, const Plot& plot, Source& source, const Series& series, const Shown& shown,
                   sf::Color color, float width);
  void draw_cycles(Canvas& canvas, const Plot& plot, Source& source, const Series& series, const Shown& shown,
                   sf::Color color, float width);
  void draw_limits(Canvas& canvas, const Plot& plot, const Theme& theme);
  void draw_beyond(Canvas& canvas, const Plot& plot, Source& source, const Strip& strip, const Theme& theme);
  void draw_misfires(Canvas& canvas, const Plot& plot, const Theme& theme);
  void draw_stacked(Canvas& canvas, std::size_t index, const Theme& theme);
  std::pair<double, double> value_range(const Strip& strip, Source& source);
  Envelope& envelope(Source& source, int channel);
  sf::Color color(const Strip& strip, std::size_t series, const Theme& theme) const;

  Source& source_;
  const Signals& signals_;
  Mixture mixture_;
  Source* other_ = nullptr;
  std::vector<Strip> strips_, other_strips_;
  std::vector<Plot> plots_;
  std::map<std::pair<const Source*, int>, Envelope> envelopes_;
  double from_ = 0.0, to_ = 1.0, follow_ = 0.0;
  bool whole_ = true, complete_ = true;
  Box area_;
  float plot_left_ = 0, plot_width_ = 1;

  // The curves are drawn once into a picture and shown again until something changes.
  Canvas curves_;
  sf::RenderTexture picture_;
  std::string key_;
  std::chrono::steady_clock::time_point drawn_{};
};

}  // namespace glassbowl::viz
