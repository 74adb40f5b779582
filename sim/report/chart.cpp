#include "sim/report/chart.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
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

std::string terminal(bool png) {
  return png ? "set terminal pngcairo size 1120,840 noenhanced font 'Sans,13' fontscale 1.8 linewidth 2 "
               "pointscale 1.8 background '#ffffff'\n"
             : "set terminal svg size 560,420 dynamic noenhanced font 'sans-serif,14' background '#ffffff'\n";
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
  }
  return text;
}

std::string plot_lines(const Chart& chart) {
  std::string text = data_blocks(chart) + "plot ";
  for (std::size_t i = 0; i < chart.lines.size(); ++i) {
    const auto& line = chart.lines[i];
    if (i > 0) text += ", ";
    if (chart.kind == ChartKind::stacked) {
      text += fmt::format(
          "$d{} using 1:2:3 with filledcurves fs solid 0.8 border lc rgb '#000000' fc rgb '{}' title {}", i,
          colours[i % colours.size()], quoted(line.label));
    } else {
      text += fmt::format("$d{} using 1:3 with {} lw 2 dt {} lc rgb '{}' pt {} ps 0.6 title {}", i,
                          line.marks ? "linespoints" : "lines", i % 5 + 1, colours[i % colours.size()],
                          std::array{7, 5, 9, 11, 13, 6, 4}[i % 7], quoted(line.label));
    }
  }
  return text + "\n";
}

std::string plot_cells(const Chart& chart) {
  const auto& c = chart.cells;
  const std::size_t columns = c.columns.size();
  std::string text = "$cells << EOD\n", labels = "$labels << EOD\n", crosses = "$cross << EOD\n",
              rings = "$ring << EOD\n";
  bool crossed = false, ringed = false;
  for (std::size_t i = 0; i < c.values.size(); ++i) {
    const double x = static_cast<double>(i % columns), y = static_cast<double>(i / columns);
    if (std::isfinite(c.values[i])) {
      text += fmt::format("{} {} {}\n", x, y, number(std::clamp(c.values[i], c.low, c.high)));
      labels += fmt::format("{} {} \"{:.{}f}\"\n", x, y - 0.1, c.values[i], c.decimals);
    }
    if (i < c.crossed.size() && c.crossed[i]) {
      crosses += fmt::format("{} {}\n", x - 0.32, y + 0.32);
      crossed = true;
    }
    if (i < c.ringed.size() && c.ringed[i]) {
      rings += fmt::format("{} {}\n", x + 0.32, y + 0.32);
      ringed = true;
    }
  }
  text += "EOD\n" + labels + "EOD\n" + crosses + "EOD\n" + rings + "EOD\n";
  const auto tics = [](const std::vector<std::string>& names) {
    std::string list;
    for (std::size_t i = 0; i < names.size(); ++i)
      list += fmt::format("{}{} {}", i == 0 ? "" : ", ", quoted(names[i]), i);
    return "(" + list + ")";
  };
  text +=
      fmt::format("set xtics {}\nset ytics {}\nset xrange [-0.5:{}]\nset yrange [-0.5:{}]\n", tics(c.columns),
                  tics(c.rows), static_cast<double>(columns) - 0.5, static_cast<double>(c.rows.size()) - 0.5);
  text += fmt::format(
      "set palette defined ({} '#6BAED6', {} '#FFFFFF', {} '#F0975A')\nset cbrange [{}:{}]\nunset "
      "colorbox\nunset grid\n",
      number(c.low), number(c.middle), number(c.high), number(c.low), number(c.high));
  text +=
      "plot $cells using 1:2:(0.5):(0.5):3 with boxxyerror fs solid 1.0 border lc rgb '#BBBBBB' fc palette "
      "notitle, $labels using 1:2:3 with labels font ',13' notitle";
  if (crossed)
    text += fmt::format(", $cross using 1:2 with points pt 2 ps 0.6 lw 2 lc rgb '#000000' title {}",
                        quoted(c.cross_meaning));
  if (ringed)
    text += fmt::format(", $ring using 1:2 with points pt 6 ps 0.6 lw 1.5 lc rgb '#000000' title {}",
                        quoted(c.ring_meaning));
  return text + "\n";
}

bool has_values(const Chart& chart) {
  if (chart.kind == ChartKind::cells)
    return std::any_of(chart.cells.values.begin(), chart.cells.values.end(),
                       [](double value) { return std::isfinite(value); });
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
  std::string text = terminal(png);
  text += fmt::format("set title {}\nset xlabel {}\nset ylabel {}\n", quoted(chart.title),
                      quoted(chart.x_label), quoted(chart.y_label));
  text +=
      "set key below maxcols 2 samplen 4 spacing 1.1 height 0.8\nset rmargin 4\nset grid lc rgb "
      "'#CCCCCC'\nset tics nomirror out\n"
      "set border lw 1\nset autoscale xfix\nset datafile missing 'NaN'\n";
  if (chart.kind == ChartKind::stacked) text += "set yrange [0:100]\nset key below maxcols 3\n";
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
