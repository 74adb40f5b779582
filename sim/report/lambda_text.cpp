#include "sim/report/lambda_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/api/no_fuel.hpp"

namespace glassbowl::sim {

std::string number_text(double value, int decimals) {
  if (!std::isfinite(value)) return "-";
  const std::string text = fmt::format("{:.{}f}", value, decimals);
  return text.find_first_of("123456789") == std::string::npos ? fmt::format("{:.{}f}", 0.0, decimals) : text;
}

std::string lambda_text(double lambda, int decimals) {
  return no_fuel(lambda) ? "no fuel" : number_text(lambda, decimals);
}

double lambda_change(double from, double to) {
  return no_fuel(from) || no_fuel(to) ? std::nan("") : to - from;
}

double lambda_ratio(double from, double to) {
  return no_fuel(from) || no_fuel(to) ? std::nan("") : to / from;
}

std::string lambda_ratio_text(double from, double to) {
  return no_fuel(from) || no_fuel(to) ? "no fuel" : number_text(to / from, 3);
}

double drawn_lambda(double lambda) {
  return std::min(lambda, highest_drawn_lambda);  // keeps NaN
}

std::string counted(std::size_t count, std::string_view thing) {
  return fmt::format("{} {}{}", count, thing, count == 1 ? "" : "s");
}

}  // namespace glassbowl::sim
