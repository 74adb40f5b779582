#pragma once

#include <filesystem>
#include <string>
#include <vector>

/// Charts as SVG and PNG, drawn by gnuplot. Colours are those of Okabe and Ito, told apart with any colour
/// vision; lines differ in dash and mark too, so that they survive a grey printer.
namespace glassbowl::sim {

struct ChartLine {
  std::string label;
  std::vector<std::pair<double, double>> points;  ///< NaN interrupts the line
  bool marks = true;
};

struct ChartCells {
  std::vector<std::string> columns, rows;  ///< what stands at the axes
  std::vector<double> values;              ///< row by row; NaN leaves a cell empty
  std::vector<bool> crossed, ringed;       ///< marks, row by row; may be empty
  std::string cross_meaning, ring_meaning;
  double low = 0.0, middle = 0.5, high = 1.0;  ///< colour scale: blue, white, orange
  int decimals = 2;
};

enum class ChartKind { lines, stacked, cells };

struct Chart {
  std::string name;  ///< goes into the file's name
  std::string title, x_label, y_label;
  ChartKind kind = ChartKind::lines;
  std::vector<ChartLine> lines;  ///< stacked: each above the one before
  ChartCells cells;
  std::string caption;  ///< what it shows, in a sentence, for the page that carries it
};

/// Throws Error{file} naming the package where the program that draws is missing.
void require_plotter();

/// Draws the chart into `base-name.svg` and `base-name.png` and returns both paths. A chart without a value
/// says so. Throws Error when gnuplot is missing or fails, or a file cannot be written (`NewFile`).
std::vector<std::filesystem::path> write_chart(const Chart& chart, const std::filesystem::path& base,
                                               bool replace);

/// The SVG alone, without its XML head, to stand within an HTML page.
std::string inline_svg(const Chart& chart);

}  // namespace glassbowl::sim
