#include "sim/report/summary_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string_view>

#include "models/constants.hpp"
#include "sim/report/lambda_text.hpp"
#include "sim/report/wrap_text.hpp"

namespace glassbowl::sim {
namespace {

constexpr double doubtful_lambda = 1.15;  // [-] leaner cycles call for the caution, at any load
constexpr double few_charges = 0.05;      // [-] share that may pass the lean limit in a change of load

double per_minute(double speed) {
  return speed * 30.0 / m::constants::pi;
}

/// Lines of a label and what is to be said of it.
class Page {
 public:
  void head(std::string_view text) { text_ += fmt::format("\n{}\n", text); }
  void line(std::string_view label, std::string_view value) { text_ += summary_line(label, value); }
  void plain(std::string_view text) { text_ += wrapped(text, "", "  "); }
  std::string take() { return std::move(text_); }

 private:
  std::string text_;
};

std::string lambda_line(const MeanAndRange& s) {
  if (std::isnan(s.mean)) return "no complete cycle";
  if (no_fuel(s.lowest)) return "no fuel";
  return fmt::format("mean {}, richest {}, leanest {}", lambda_text(s.mean), lambda_text(s.lowest),
                     lambda_text(s.highest));
}

std::string later_text(double lag) {
  return fmt::format("{:.0f} ms {} than the reference", std::abs(lag) * 1e3, lag < 0.0 ? "earlier" : "later");
}

std::string reached(double rise, double lag) {
  if (!std::isfinite(rise)) return "not reached";
  return fmt::format("after {:.0f} ms{}", rise * 1e3, std::isfinite(lag) ? ", " + later_text(lag) : "");
}

std::string flow_shown(double flow) {
  return fmt::format("{} g/s", number_text(flow * 1e3, 3));
}

/// The lambda of a stalled engine's cycle, which may be above all that is worth printing.
std::string stall_lambda_text(double lambda) {
  return no_fuel(lambda) ? fmt::format("above {:.0f}", no_fuel_lambda) : lambda_text(lambda, 2);
}

std::string what_stopped_it(const Stall& stall) {
  if (stall.cause == StallCause::unknown) return "it had not completed a cycle";
  const bool single = stall.lambda.size() == 1;
  if (stall.cause == StallCause::weak) {
    if (single) return "its only cycle burned, but gave too little torque";
    return stall.in_a_row > 0 ? "few cycles misfired, but the engine gave too little torque"
                              : "its cycles burned, but gave too little torque";
  }
  const std::string lambda = stall_lambda_text(stall.lambda.back());
  return single || stall.in_a_row == 1 ? fmt::format("cylinder {} misfired in its {} cycle, at lambda {}",
                                                     stall.cylinder, single ? "only" : "last", lambda)
                                       : fmt::format("cylinder {} misfired {} cycles in a row at lambda {}",
                                                     stall.cylinder, stall.in_a_row, lambda);
}

/// Danger, place, numbers, action.
void stalled(const Summary& s, const Stall& stall, Page& page) {
  page.plain(fmt::format("Engine stalled at {:.2f} s{}: {}.", stall.time,
                         stall.warming_up ? " of warm-up" : "", what_stopped_it(stall)));
  std::string advice;
  for (const auto& step : stall.advice) advice += (advice.empty() ? " Try: " : "; ") + step;
  page.plain(fmt::format(
      "{}{}.", s.simulated == 0.0 ? "No results." : "The results cover the time before the stall.", advice));
  if (stall.lambda.empty()) return;
  std::string cycles;
  for (const double lambda : stall.lambda)
    cycles += fmt::format("{}{}", cycles.empty() ? "" : ", ", stall_lambda_text(lambda));
  if (std::all_of(stall.lambda.begin(), stall.lambda.end(), [](double lambda) { return no_fuel(lambda); }))
    cycles = stall_lambda_text(stall.lambda.back());
  page.line("in-cylinder lambda",
            fmt::format("{} (cylinder {}, {})", cycles, stall.cylinder,
                        stall.lambda.size() == 1 ? "its only cycle"
                                                 : fmt::format("last {} cycles", stall.lambda.size())));
  page.line("fuel delivered",
            fmt::format("{}, {:.0f} % of the {} that lambda 1 needs", flow_shown(stall.delivered),
                        100.0 * stall.delivered / stall.needed, flow_shown(stall.needed)));
  page.line("  idle outlet", flow_shown(stall.idle));
  page.line("  transfer ports", flow_shown(stall.ports));
  page.line("  main nozzle", flow_shown(stall.main));
  if (stall.pump > 0.0) page.line("  accelerator pump", flow_shown(stall.pump));
  if (stall.enrichment > 0.0) page.line("  enrichment", flow_shown(stall.enrichment));
}

std::string misfires_text(const Summary& s) {
  return fmt::format("{} of {} cycles", s.misfires, s.cycles * static_cast<long>(s.cylinders.size()));
}

std::string mixture_result(const Summary& s) {
  return fmt::format("In-cylinder lambda: {}; misfires: {}.", lambda_line(s.lambda), misfires_text(s));
}

/// How the engine answered the throttle, or its mean speed, torque and power.
std::string engine_result(const Summary& s) {
  if (s.blip && s.blip->note.empty() && std::isfinite(s.blip->peak))
    return fmt::format("Throttle response: 50 % of the rise {}.", reached(s.blip->rise_50, s.blip->lag_50));
  return fmt::format("Mean speed {} rpm, brake torque {} N m, brake power {} kW.",
                     number_text(per_minute(s.speed), 0), number_text(s.torque, 2),
                     number_text(s.power * 1e-3, 2));
}

void beginning(const Summary& s, Page& page) {
  page.plain(s.title.empty() ? s.name : fmt::format("{}: {}", s.name, s.title));
  if (s.stall) {
    stalled(s, *s.stall, page);
  } else if (s.ending == Ending::stalled) {
    page.plain(fmt::format("Engine stalled at {:.2f} s.", s.simulated));
  } else if (s.ending == Ending::interrupted) {
    page.plain(s.simulated == 0.0
                   ? fmt::format("Interrupted at {:.2f} s of warm-up. No results.", s.settle)
                   : fmt::format("Interrupted at {:.2f} s. The results cover the time before.", s.simulated));
  }
  if (s.simulated > 0.0) {
    page.plain(mixture_result(s));
    page.plain(engine_result(s));
  }
  for (const auto& warning : s.warnings) page.plain("Warning: " + warning);
  if (!s.provenance.empty()) page.plain("Values: " + s.provenance + ".");
}

std::string circuit_name(const std::string& name) {
  if (name.starts_with("port_")) return "transfer port " + name.substr(5);
  return name == "main"   ? "main nozzle"
         : name == "idle" ? "idle outlet"
         : name == "pump" ? "accelerator pump"
                          : name;
}

void mixture(const Summary& s, Page& page) {
  page.head("Air and fuel");
  page.line("air", fmt::format("{} g/s", number_text(s.air_flow * 1e3, 3)));
  page.line("fuel", fmt::format("{} g/s", number_text(s.fuel_flow * 1e3, 4)));
  for (const auto& c : s.circuits)
    page.line("  " + circuit_name(c.name),
              fmt::format("{:>9} g/s {:>6} %", number_text(c.flow * 1e3, 4), number_text(c.share * 100, 1)));
  if (s.stood_off > 1e-9) page.line("standoff", fmt::format("{:.4f} g", s.stood_off * 1e3));
  if (s.overflowed > 1e-9) page.line("bowl overflow", fmt::format("{:.3f} g", s.overflowed * 1e3));

  page.head("Lambda");
  page.line("carburetor", s.fuel_flow > 0.0 && !no_fuel(s.carburetor_lambda)
                              ? "mean " + lambda_text(s.carburetor_lambda)
                              : std::string("no fuel"));
  for (std::size_t k = 0; k < s.cylinders.size(); ++k)
    page.line(fmt::format("in-cylinder, cylinder {}", k + 1), lambda_line(s.cylinders[k]));
  page.line("misfires", misfires_text(s));
}

void engine(const Summary& s, Page& page) {
  page.head("Engine");
  page.line("speed", fmt::format("mean {} rpm, from {} to {} rpm", number_text(per_minute(s.speed), 0),
                                 number_text(per_minute(s.cycle_speed.lowest), 0),
                                 number_text(per_minute(s.cycle_speed.highest), 0)));
  page.line("brake torque", fmt::format("{} N m", number_text(s.torque, 2)));
  page.line("indicated torque", fmt::format("{} N m", number_text(s.indicated, 2)));
  page.line("brake power", fmt::format("{} kW", number_text(s.power * 1e-3, 2)));
  page.line("manifold pressure", fmt::format("{} kPa", number_text(s.manifold_pressure * 1e-3, 2)));
  page.line("nozzle depression", fmt::format("{} kPa", number_text(s.depression * 1e-3, 3)));
  if (s.lift)
    page.line("piston lift",
              fmt::format("mean {} mm, from {} to {} mm", number_text(s.lift->mean * 1e3, 2),
                          number_text(s.lift->lowest * 1e3, 2), number_text(s.lift->highest * 1e3, 2)));
  page.line("fuel level in the bowl",
            fmt::format("mean {} mm, lowest {} mm (bowl joint face at 0 mm)",
                        number_text(s.bowl_level.mean * 1e3, 2), number_text(s.bowl_level.lowest * 1e3, 2)));
}

void blip(const BlipLag& b, Page& page) {
  page.head(fmt::format("Throttle response from {:.3f} s to {:.3f} s, measured by {}", b.start, b.end,
                        b.torque ? "torque" : "speed"));
  if (!b.note.empty()) page.line("lag", "not known: " + b.note);
  if (std::isfinite(b.peak)) {
    page.line("ideal-mixture reference",
              b.torque
                  ? fmt::format("{:.1f} to {:.1f} N m, half of the rise after {} ms", b.before, b.peak,
                                number_text(b.yardstick_50 * 1e3, 0))
                  : fmt::format("{:.0f} to {:.0f} rpm, half of the rise after {} ms", per_minute(b.before),
                                per_minute(b.peak), number_text(b.yardstick_50 * 1e3, 0)));
    if (b.note.empty()) {
      page.line("10 % of that rise", reached(b.rise_10, b.lag_10));
      page.line("50 % of that rise", reached(b.rise_50, b.lag_50));
      page.line("90 % of that rise", reached(b.rise_90, b.lag_90));
    }
  }
  page.line("in-cylinder lambda",
            fmt::format("richest {}, leanest {}", lambda_text(b.richest), lambda_text(b.leanest)));
  page.line("leaner than 1.15",
            fmt::format("{:.2f} ms (excess of lambda times time, worst cylinder)", b.lean_area * 1e3));
  page.line("misfires", fmt::format("{}", b.misfires));
  if (std::isfinite(b.lift_50))
    page.line("half of the piston lift", fmt::format("after {:.0f} ms", b.lift_50 * 1e3));
  if (std::isfinite(b.pump_volume))
    page.line("pump shot",
              std::isfinite(b.pump_duration)
                  ? fmt::format("{:.3f} cm3 within {:.0f} ms", b.pump_volume * 1e6, b.pump_duration * 1e3)
                  : fmt::format("{:.3f} cm3", b.pump_volume * 1e6));
}

void balances(const Summary& s, Page& page) {
  page.head("Balance error (relative)");
  page.line("fuel", fmt::format("{:.1e}", s.budget.fuel));
  page.line("air", fmt::format("{:.1e}", s.budget.air));
  page.line("energy", fmt::format("{:.1e} (largest: {})", s.budget.energy, s.budget.energy_volume));
  if (!s.budget.lowest_margin_name.empty() && s.budget.lowest_margin < 0.0)
    page.line("below its bound", fmt::format("{} by {:.1e} of its nominal size", s.budget.lowest_margin_name,
                                             -s.budget.lowest_margin));

  page.head("Computation");
  if (s.settle > 0.0) page.line("warm-up", fmt::format("{:.2f} s", s.settle));
  page.line("simulated",
            fmt::format("{:.3f} s, {} cycle{}", s.simulated, s.cycles, s.cycles == 1 ? "" : "s"));
  page.line("time taken",
            fmt::format("{:.2f} s: {:.1f} simulated seconds per second", s.wall, s.realtime_factor()));
}

}  // namespace

std::string summary_line(std::string_view label, std::string_view value) {
  constexpr int label_width = 26;
  return fmt::format("  {:<{}}{}\n", label, label_width, value);
}

std::string summary_text(const Summary& s) {
  Page page;
  beginning(s, page);
  if (s.simulated > 0.0) {
    mixture(s, page);
    engine(s, page);
  }
  if (s.blip && s.simulated > 0.0) blip(*s.blip, page);
  balances(s, page);
  return page.take();
}

std::string summary_caution(const Summary& s) {
  std::string what;
  if (s.lean_charges > few_charges)
    what = fmt::format(
        "{:.0f} % of the cycles of one cylinder were beyond the lean limit for their load "
        "(lambda 0.95 at full load, 1.20 at a third; common practice)",
        s.lean_charges * 100.0);
  else if (s.lambda.highest > doubtful_lambda)
    what = fmt::format("cycles leaner than lambda {} occurred", doubtful_lambda);
  else
    return {};
  return "\n" +
         wrapped(fmt::format("Caution: {}. Under load such a mixture overheats an engine and can seize "
                             "it. This is a model: the workshop manual and local emission rules come first.",
                             what),
                 "", "  ");
}

}  // namespace glassbowl::sim
