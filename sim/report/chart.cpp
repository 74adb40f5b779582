#include "sim/report/chart.hpp"

#include <fmt/format.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <csignal>
#include <cstdio>
#include <fstream>
#include <sstream>

#include "sim/api/error.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

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

std::string script(const Chart& chart, bool png, const fs::path& output) {
  std::string text = terminal(png);
  text += fmt::format("set output {}\n", quoted(output.string()));
  text += fmt::format("set title {}\nset xlabel {}\nset ylabel {}\n", quoted(chart.title),
                      quoted(chart.x_label), quoted(chart.y_label));
  text +=
      "set key below maxcols 2 samplen 4 spacing 1.1 height 0.8\nset rmargin 4\nset grid lc rgb "
      "'#CCCCCC'\nset tics nomirror out\n"
      "set border lw 1\nset autoscale xfix\nset datafile missing 'NaN'\n";
  if (chart.kind == ChartKind::stacked) text += "set yrange [0:100]\nset key below maxcols 3\n";
  return text + (chart.kind == ChartKind::cells ? plot_cells(chart) : plot_lines(chart)) + "unset output\n";
}

void draw(const std::string& text) {
  auto* const before = std::signal(SIGPIPE, SIG_IGN);  // a missing program must not end this one
  FILE* pipe = popen("gnuplot -d >/dev/null 2>&1", "w");
  bool written = pipe != nullptr;
  if (pipe != nullptr) written = std::fwrite(text.data(), 1, text.size(), pipe) == text.size();
  const int status = pipe != nullptr ? pclose(pipe) : -1;
  std::signal(SIGPIPE, before);
  if (!written || !WIFEXITED(status) || WEXITSTATUS(status) != 0)
    throw Error(
        ErrorKind::file,
        WIFEXITED(status) && WEXITSTATUS(status) == 127
            ? "charts need gnuplot, which is not installed (package gnuplot-nox); --no-charts does without"
            : "gnuplot could not draw a chart; is the folder writable, the disk full?");
}

void must_be_plain(const fs::path& path) {
  if (quoted(path.string()) != "'" + path.string() + "'")
    throw Error(
        ErrorKind::file,
        fmt::format(
            "{}: charts cannot go to a path with quotes or control characters; choose another --output",
            path.string()));
}

}  // namespace

std::vector<fs::path> write_chart(const Chart& chart, const fs::path& base) {
  std::vector<fs::path> paths;
  for (const bool png : {false, true}) {
    const fs::path path = fmt::format("{}-{}.{}", base.string(), chart.name, png ? "png" : "svg");
    must_be_plain(path);
    draw(script(chart, png, path));
    paths.push_back(path);
  }
  return paths;
}

std::string inline_svg(const Chart& chart) {
  std::string pattern = (fs::temp_directory_path() / "glassbowl-chart-XXXXXX").string();
  const int descriptor = mkstemp(pattern.data());
  if (descriptor < 0) throw Error(ErrorKind::file, "no temporary file for a chart can be made");
  close(descriptor);
  std::ostringstream out;
  try {
    draw(script(chart, false, pattern));
    out << std::ifstream(pattern).rdbuf();
  } catch (...) {
    fs::remove(pattern);
    throw;
  }
  fs::remove(pattern);
  std::string text = out.str();
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
