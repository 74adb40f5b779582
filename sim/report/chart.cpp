#include "sim/report/chart.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <sstream>

#include "sim/api/error.hpp"
#include "sim/api/new_file.hpp"
#include "sim/report/run_program.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

constexpr const char* plotter = "gnuplot";

constexpr std::array<const char*, 8> colours{"#0072B2", "#D55E00", "#009E73", "#CC79A7",
                                             "#000000", "#56B4E9", "#E69F00", "#7F7F7F"};

constexpr std::array all_marks{PointMark::beyond_limit,  PointMark::not_judged, PointMark::misfires,
                               PointMark::not_converged, PointMark::jump,       PointMark::two_valued};

/// gnuplot runs what stands in back quotes; a single-quoted text without quotes cannot do anything.
std::string quoted(const std::string& text) {
  std::string safe;
  for (const char c : text)
    safe += c == '\'' || c == '"' || c == '`' || c == '\\' || static_cast<unsigned char>(c) < ' ' ? ' ' : c;
  return "'" + safe + "'";
}

std::string number(double value) {
  return std::isfinite(value) ? fmt::format("{:.8g}", value) : "NaN";
}

constexpr int width = 560, usual_height = 420;  // of a picture, px; half the dots of a PNG

/// What the signs of a chart of cells mean.
std::vector<std::string> key_of_cells(const Chart& chart) {
  std::vector<std::string> key;
  for (const PointMark mark : all_marks)
    if (std::any_of(chart.marks.begin(), chart.marks.end(),
                    [&](const ChartMark& m) { return m.mark == mark; }))
      key.push_back(fmt::format("{}  {}{}", sign_of(mark), mark == PointMark::beyond_limit ? "framed: " : "",
                                meaning_of(mark)));
  if (std::any_of(chart.cells.values.begin(), chart.cells.values.end(),
                  [](double value) { return std::isnan(value); }))
    key.emplace_back("-  not computed");
  return key;
}

/// A chart of cells, px from its lower edge: key, colour scale, axis, cells, title.
struct CellLayout {
  static constexpr int row = 34, left = 85, right = 20, title = 40, axis = 66, scale = 78, entry = 21;
  int key_rows, cell_rows;

  explicit CellLayout(const Chart& chart)
      : key_rows(static_cast<int>(key_of_cells(chart).size())),
        cell_rows(static_cast<int>(chart.cells.rows.size())) {}
  int scale_bottom() const { return 8 + entry * key_rows + 62; }  // below it its tics and their meaning
  int cells_bottom() const { return 8 + entry * key_rows + scale + axis; }
  int height() const { return cells_bottom() + row * cell_rows + title; }
  double across(int x) const { return static_cast<double>(x) / width; }
  double up(int y) const { return static_cast<double>(y) / height(); }
};

std::string terminal(const Chart& chart, bool png) {
  const int height = chart.kind == ChartKind::cells ? CellLayout(chart).height() : usual_height;
  return png ? fmt::format(
                   "set terminal pngcairo size {},{} noenhanced font 'Sans,14' fontscale 1.5 linewidth 2 "
                   "pointscale 1.8 background '#ffffff'\n",
                   2 * width, 2 * height)
             : fmt::format(
                   "set terminal svg size {},{} dynamic noenhanced font 'sans-serif,14' background "
                   "'#ffffff'\n",
                   width, height);
}

std::string data_blocks(const Chart& chart) {
  std::string text;
  std::vector<double> below;
  for (std::size_t i = 0; i < chart.lines.size(); ++i) {
    const auto& points = chart.lines[i].points;
    below.resize(points.size(), 0.0);
    text += fmt::format("$d{} << EOD\n", i);
    for (std::size_t j = 0; j < points.size(); ++j) {
      const double low = below[j];
      const double y = chart.kind == ChartKind::stacked ? low + points[j].second : points[j].second;
      if (chart.kind == ChartKind::stacked) below[j] = y;
      text += std::isfinite(y) && std::isfinite(points[j].first)
                  ? fmt::format("{} {} {}\n", number(points[j].first), number(low), number(y))
                  : "\n";  // an empty line interrupts
    }
    text += "EOD\n";
    if (chart.lines[i].band.size() != points.size()) continue;
    text += fmt::format("$b{} << EOD\n", i);
    for (std::size_t j = 0; j < points.size(); ++j) {
      const auto& [low, high] = chart.lines[i].band[j];
      text += std::isfinite(low) && std::isfinite(high) && std::isfinite(points[j].first)
                  ? fmt::format("{} {} {}\n", number(points[j].first), number(low), number(high))
                  : "\n";
    }
    text += "EOD\n";
  }
  return text;
}

/// The signs of a chart: all at one place in one text, so that none hides another.
struct Signs {
  std::map<std::pair<double, double>, std::string> at;
  std::vector<std::pair<double, double>> beyond_limit;
  std::vector<PointMark> present;  ///< in the order in which the key names them
};

Signs signs_of(const Chart& chart) {
  Signs out;
  for (const PointMark mark : all_marks)
    for (const ChartMark& m : chart.marks) {
      if (m.mark != mark) continue;
      out.at[{m.x, m.y}] += sign_of(mark);
      if (mark == PointMark::beyond_limit) out.beyond_limit.emplace_back(m.x, m.y);
      if (out.present.empty() || out.present.back() != mark) out.present.push_back(mark);
    }
  return out;
}

std::string sign_blocks(const Signs& signs) {
  std::string text = "$signs << EOD\n";
  for (const auto& [at, sign] : signs.at)
    text += fmt::format("{} {} \"{}\"\n", number(at.first), number(at.second), sign);
  text += "EOD\n$beyond << EOD\n";
  for (const auto& [x, y] : signs.beyond_limit) text += fmt::format("{} {}\n", number(x), number(y));
  return text + "EOD\n";
}

/// What the signs mean, for the key.
std::string sign_key(const Signs& signs) {
  std::string text;
  for (const PointMark mark : signs.present)
    text += fmt::format(", keyentry with points pt '{}' lc rgb '#000000' title {}", sign_of(mark),
                        quoted(meaning_of(mark)));
  return text;
}

std::string plot_lines(const Chart& chart) {
  const bool stacked = chart.kind == ChartKind::stacked;
  const Signs signs = signs_of(chart);
  std::string text = data_blocks(chart) + sign_blocks(signs) + "plot ";
  for (std::size_t i = 0; i < chart.lines.size(); ++i)  // below all lines
    if (!stacked && chart.lines[i].band.size() == chart.lines[i].points.size() &&
        !chart.lines[i].band.empty())
      text += fmt::format(
          "$b{} using 1:2:3 with filledcurves fs transparent solid 0.2 noborder fc rgb '{}' notitle, ", i,
          colours[i % colours.size()]);
  for (std::size_t i = 0; i < chart.lines.size(); ++i) {
    const auto& line = chart.lines[i];
    if (i > 0) text += ", ";
    if (stacked) {
      text += fmt::format(
          "$d{} using 1:2:3 with filledcurves fs solid {} border lc rgb '#000000' fc rgb '{}' title {}", i,
          std::array{0.9, 0.5, 0.2}[i % 3],  // apart in grey, too
          colours[i % colours.size()], quoted(line.label));
    } else {
      const std::string& label = line.label;
      text += line.marks ? fmt::format(
                               "$d{} using 1:3 with linespoints lw 2 dt {} lc rgb '{}' pt {} ps 0.6 title {}",
                               i, i % 5 + 1, colours[i % colours.size()],
                               std::array{7, 5, 9, 11, 13, 6, 4}[i % 7], quoted(label))
                         : fmt::format("$d{} using 1:3 with lines lw 2.5 dt 3 lc rgb '#000000' title {}", i,
                                       quoted(label));
    }
  }
  if (!stacked && !signs.beyond_limit.empty())
    text += ", $beyond using 1:2 with points pt 4 ps 1.4 lw 2 lc rgb '#000000' notitle";
  if (!signs.at.empty())
    text +=
        fmt::format(", $signs using 1:2:3 with labels {} font ',17' notitle", stacked ? "" : "offset 0,0.8");
  return text + sign_key(signs) + "\n";
}

constexpr double value_width = 3.0, no_fuel_width = 4.2;  // in sizes of their font

/// Values of 560 px with few columns have 13 px; with many they shrink to their cells.
int font_in_cells(std::size_t columns, double letters = value_width) {
  constexpr double room = width - CellLayout::left - CellLayout::right;  // px
  return std::clamp(static_cast<int>(room / static_cast<double>(columns) / letters), 6, 13);
}

std::string palette(const ChartCells& c) {
  return fmt::format("set palette defined ({})\nset cbrange [{}:{}]\nset cblabel {} offset 0,0.7\n",
                     c.scale == ColourScale::mixture
                         ? fmt::format("{} '#A6D0EC', {} '#FFFFFF', {} '#D95F0E'", number(c.low),
                                       number(c.middle), number(c.high))
                         : fmt::format("{} '#FFFFFF', {} '#38B08A'", number(c.low), number(c.high)),
                     number(c.low), number(c.high), quoted(c.meaning));
}

/// Everything has its place, as the colour scale below the cells would else cover the key.
std::string places(const Chart& chart) {
  const CellLayout at(chart);
  std::string text = fmt::format(
      "set lmargin at screen {0}\nset rmargin at screen {1}\nset bmargin at screen {2}\nset tmargin at "
      "screen "
      "{3}\nset colorbox horizontal user origin screen {0},{4} size screen {5},{6}\nset cbtics scale 0.5 "
      "offset "
      "0,0.3\nset xlabel offset 0,0.4\nunset key\nunset grid\n",
      at.across(at.left), at.across(width - at.right), at.up(at.cells_bottom()),
      at.up(at.height() - at.title), at.up(at.scale_bottom()), at.across(width - at.left - at.right),
      at.up(12));
  const auto key = key_of_cells(chart);  // one below the other, as the longest needs most of the width
  for (std::size_t i = 0; i < key.size(); ++i)
    text += fmt::format("set label {} at screen {},{} left\n", quoted(key[i]), at.across(at.left),
                        at.up(8 + at.entry * (at.key_rows - static_cast<int>(i)) - at.entry / 2));
  return text;
}

std::string plot_cells(const Chart& chart) {
  const auto& c = chart.cells;
  const std::size_t columns = c.columns.size();
  const Signs signs = signs_of(chart);
  std::string text = "$cells << EOD\n", labels = "$labels << EOD\n", empty = "$empty << EOD\n";
  for (std::size_t i = 0; i < c.values.size(); ++i) {
    const double x = static_cast<double>(i % columns), y = static_cast<double>(i / columns);
    const bool known = !std::isnan(c.values[i]);
    if (known) text += fmt::format("{} {} {}\n", x, y, number(std::clamp(c.values[i], c.low, c.high)));
    if (std::isinf(c.values[i]))
      empty += fmt::format("{} {} \"no fuel\"\n", x, y - 0.18);
    else
      labels += fmt::format("{} {} \"{}\"\n", x, y - 0.18,
                            known ? fmt::format("{:.{}f}", c.values[i], c.decimals) : "-");
  }
  text += "EOD\n" + labels + "EOD\n" + empty + "EOD\n" + sign_blocks(signs);
  const auto any = [&](auto holds) { return std::any_of(c.values.begin(), c.values.end(), holds); };
  const auto tics = [](const std::vector<std::string>& names) {
    std::string list;
    for (std::size_t i = 0; i < names.size(); ++i)
      list += fmt::format("{}{} {}", i == 0 ? "" : ", ", quoted(names[i]), i);
    return "(" + list + ")";
  };
  text +=
      fmt::format("set xtics {}\nset ytics {}\nset xrange [-0.5:{}]\nset yrange [-0.5:{}]\n", tics(c.columns),
                  tics(c.rows), static_cast<double>(columns) - 0.5, static_cast<double>(c.rows.size()) - 0.5);
  text += palette(c) + places(chart);
  const int font = font_in_cells(columns);
  text +=
      "plot $cells using 1:2:(0.5):(0.5):3 with boxxyerror fs solid 1.0 border lc rgb '#BBBBBB' fc palette "
      "notitle";
  if (any([](double value) { return !std::isinf(value); }))
    text += fmt::format(", $labels using 1:2:3 with labels font ',{}' notitle", font);
  if (any([](double value) { return std::isinf(value); }))
    text += fmt::format(", $empty using 1:2:3 with labels font ',{}' notitle",
                        font_in_cells(columns, no_fuel_width));
  if (!signs.beyond_limit.empty())
    text += ", $beyond using 1:2:(0.46):(0.46) with boxxyerror fs empty lc rgb '#000000' lw 2.5 notitle";
  if (!signs.at.empty())
    // Twice, half a pixel aside, as a bold font has no name that both formats know.
    for (const double aside : {-0.001 * static_cast<double>(columns), 0.001 * static_cast<double>(columns)})
      text +=
          fmt::format(", $signs using ($1+{}):($2+0.23):3 with labels font ',{}' notitle", aside, font + 1);
  return text + "\n";
}

bool has_values(const Chart& chart) {
  if (chart.kind == ChartKind::cells)
    return std::any_of(chart.cells.values.begin(), chart.cells.values.end(),
                       [](double value) { return !std::isnan(value); });
  return std::any_of(chart.lines.begin(), chart.lines.end(), [](const ChartLine& line) {
    return std::any_of(line.points.begin(), line.points.end(), [](const auto& point) {
      return std::isfinite(point.first) && std::isfinite(point.second);
    });
  });
}

/// gnuplot refuses a chart without a single point.
std::string plot_nothing() {
  return "set xrange [0:1]\nset yrange [0:1]\nset label 'no value could be computed' at graph 0.5,0.5 "
         "center\n"
         "plot NaN notitle\n";
}

std::string plot(const Chart& chart) {
  if (!has_values(chart)) return plot_nothing();
  return chart.kind == ChartKind::cells ? plot_cells(chart) : plot_lines(chart);
}

std::string script(const Chart& chart, bool png) {
  std::string text = terminal(chart, png);
  text += fmt::format("set title {}\nset xlabel {}\nset ylabel {}\n", quoted(chart.title),
                      quoted(chart.x_label), quoted(chart.y_label));
  text +=
      "set key below maxcols 2 samplen 4 spacing 1.1 height 0.8\nset rmargin 4\nset grid lc rgb "
      "'#CCCCCC'\nset tics nomirror out\n"
      "set border lw 1\nset autoscale xfix\nset datafile missing 'NaN'\n";
  if (chart.square_root_x)
    text +=
        "set nonlinear x via sqrt(x) inverse x*x\nset xrange [0:]\nset xtics (0, 2, 5, 10, 20, 30, 40, "
        "60, "
        "80, 100)\n";
  // Signs of a stacked chart stand above its full height.
  if (chart.kind == ChartKind::stacked)
    text += fmt::format("set yrange [0:{}]\nset key below maxcols 3\n", chart.marks.empty() ? 100 : 110);
  return text + plot(chart);
}

/// The first line that says something, as it may be shown.
std::string first_words(const std::string& said) {
  std::istringstream lines(said);
  for (std::string line; std::getline(lines, line);) {
    std::erase_if(line, [](unsigned char c) { return c < ' ' || c > '~'; });
    if (line.find_first_not_of(" ^") != std::string::npos) return line.substr(0, 200);
  }
  return "it says nothing";
}

/// The picture; gnuplot gets no name of a file, as it runs what some names say.
std::string draw(const Chart& chart, bool png) {
  const ProgramEnd end = run_program({plotter, "-d"}, script(chart, png));
  const std::string tail = png ? "IEND\xae\x42\x60\x82" : "</svg>";
  const std::size_t at = end.out.rfind(tail);
  if (end.code != 0 || at == std::string::npos)
    throw Error(ErrorKind::file, fmt::format("{} could not draw the chart {}: {}", plotter, chart.name,
                                             first_words(end.error)));
  return end.out;
}

fs::path path_of(const fs::path& base, const std::string& name, bool png) {
  return fmt::format("{}-{}.{}", base.string(), name, png ? "png" : "svg");
}

}  // namespace

char sign_of(PointMark mark) {
  return std::array{'!', '~', 'x', '?', '/', '2'}[static_cast<std::size_t>(mark)];
}

const std::string& meaning_of(PointMark mark) {
  static const std::array<std::string, 6> meanings{"beyond the lean limit or within 0.015 of it",
                                                   "not judged: not a steady point",
                                                   "misfires",
                                                   "not converged",
                                                   "lambda jumps to the next point",
                                                   "two settled cycles"};
  return meanings[static_cast<std::size_t>(mark)];
}

void require_plotter() {
  if (!on_path(plotter))
    throw Error(ErrorKind::file, fmt::format("charts need {}, which is not installed (package gnuplot-nox); "
                                             "--no-charts does without",
                                             plotter));
}

std::vector<fs::path> write_chart(const Chart& chart, const fs::path& base, bool replace) {
  require_plotter();
  std::vector<fs::path> paths;
  for (const bool png : {false, true}) {
    paths.push_back(path_of(base, chart.name, png));
    write_new_file(paths.back(), replace, draw(chart, png));
  }
  return paths;
}

std::string inline_svg(const Chart& chart) {
  require_plotter();
  std::string text = draw(chart, false);
  text.erase(0, std::min(text.find("<svg"), text.size()));
  // Names within must not meet those of another chart on the page.
  const std::string own = "id_" + chart.name + "_";
  for (const std::string mark : {"id=\"", "href=\"#", "url(#", "href='#", "id='"})
    for (std::size_t at = text.find(mark); at != std::string::npos;
         at = text.find(mark, at + mark.size() + own.size()))
      text.insert(at + mark.size(), own);
  return text;
}

}  // namespace glassbowl::sim
