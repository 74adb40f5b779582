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
  std::vector<std::pair<double, double>> band{};  ///< lowest and highest at each point; none: no band
};

/// What a reader must see at a glance at an operating point. Tables and charts use the same signs.
enum class PointMark { beyond_limit, not_judged, misfires, not_converged, jump, two_valued };
char sign_of(PointMark mark);                   ///< '!', '~', 'x', '?', '/', '2'
const std::string& meaning_of(PointMark mark);  ///< "beyond the lean limit", ...

struct ChartMark {
  PointMark mark;
  double x, y;  ///< cells: number of the column and of the row
};

/// Blue, white and orange for rich to lean; white to green for a share. Both grow darker towards `high`, the
/// first towards `low` as well, but less, so that a grey printer keeps lean apart from rich.
enum class ColourScale { mixture, share };

struct ChartCells {
  std::vector<std::string> columns, rows;  ///< what stands at the axes
  std::vector<double> values;              ///< row by row; NaN gives a dash, infinity "no fuel"
  ColourScale scale = ColourScale::mixture;
  double low = 0.0, middle = 0.5, high = 1.0;  ///< of the colour scale
  std::string meaning;                         ///< stands beside the colour scale
  int decimals = 2;
};

enum class ChartKind { lines, stacked, cells };

struct Chart {
  std::string name;  ///< goes into the file's name
  std::string title, x_label, y_label;
  ChartKind kind = ChartKind::lines;
  bool square_root_x = false;    ///< gives small values of a percentage room
  std::vector<ChartLine> lines;  ///< stacked: each above the one before
  ChartCells cells;
  std::vector<ChartMark> marks;
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
