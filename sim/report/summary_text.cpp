#include "sim/report/summary_text.hpp"

#include <fmt/format.h>

#include <cmath>
#include <iterator>
#include <string_view>

#include "models/constants.hpp"
#include "sim/report/lambda_text.hpp"
#include "sim/report/wrap_text.hpp"

namespace glassbowl::sim {
namespace {

constexpr int label_width = 24;
constexpr double doubtful_lambda = 1.15;  // [-] leaner charges call for the caution, at any load
constexpr double few_charges = 0.05;      // [-] share that may pass the lean limit in a change of load

double per_minute(double speed) {
  return speed * 30.0 / m::constants::pi;
}

/// Lines of a label and what is to be said of it.
class Page {
 public:
  void head(std::string_view text) { text_ += fmt::format("\n{}\n", text); }
  void line(std::string_view label, std::string_view value) {
    text_ += fmt::format("  {:<{}}{}\n", label, label_width, value);
  }
  void plain(std::string_view text) { text_ += fmt::format("{}\n", text); }
  void text(std::string_view lines) { text_ += lines; }
  std::string take() { return std::move(text_); }

 private:
  std::string text_;
};

std::string lambda_line(const Spread& s) {
  if (std::isnan(s.mean)) return "no charge trapped";
  if (no_fuel(s.lowest)) return "no fuel";
  return fmt::format("mean {}, richest {}, leanest {}", lambda_text(s.mean), lambda_text(s.lowest),
                     lambda_text(s.highest));
}

std::string reached(double rise, double lag) {
  if (!std::isfinite(rise)) return "not reached";
  return std::isfinite(lag)
             ? fmt::format("{:.0f} ms, {:+.0f} ms against the ideal mixture", rise * 1e3, lag * 1e3)
             : fmt::format("{:.0f} ms", rise * 1e3);
}

std::string flow_shown(double flow) {
  return fmt::format("{} g/s", number_text(flow * 1e3, 3));
}

std::string what_stopped_it(const Stall& stall) {
  if (stall.cause == StallCause::unknown) return "it had not completed a cycle";
  if (stall.cause == StallCause::weak)
    return stall.in_a_row > 0 ? "few charges failed to light, but the engine gave too little torque"
                              : "its charges burned, but gave too little torque";
  const double last = stall.lambda.back();
  return fmt::format("cylinder {} misfired {} cycles in a row{}", stall.cylinder, stall.in_a_row,
                     no_fuel(last) ? ", without fuel" : ", last at lambda " + lambda_text(last, 2));
}

/// Danger, place, numbers, action.
void stalled(const Summary& s, const Stall& stall, Page& page) {
  const bool nothing = s.simulated == 0.0;
  page.plain(fmt::format("Engine stalled at {:.2f} s{}: {}.", stall.time,
                         stall.warming_up ? " of warm-up" : "", what_stopped_it(stall)));
  page.plain(nothing ? "No results." : "The figures below count up to there.");
  if (!stall.lambda.empty()) {
    std::string charges;
    for (const double lambda : stall.lambda)
      charges += fmt::format("{}{}", charges.empty() ? "" : ", ", lambda_text(lambda, 2));
    page.line("in-cylinder lambda",
              fmt::format("{} (last {} cycles, cylinder {})", charges, stall.lambda.size(), stall.cylinder));
    page.line("fuel delivered",
              fmt::format("{}, {:.0f} % of the {} that lambda 1 needs", flow_shown(stall.delivered),
                          100.0 * stall.delivered / stall.needed, flow_shown(stall.needed)));
    page.line("  idle outlet", flow_shown(stall.idle));
    page.line("  transfer ports", flow_shown(stall.ports));
    page.line("  main nozzle", flow_shown(stall.main));
    if (stall.pump > 0.0) page.line("  accelerator pump", flow_shown(stall.pump));
    if (stall.enrichment > 0.0) page.line("  enrichment", flow_shown(stall.enrichment));
  }
  std::string advice;
  for (const auto& step : stall.advice) advice += (advice.empty() ? "" : "; ") + step;
  page.line("try or check", advice);
}

void ending(const Summary& s, Page& page) {
  page.plain(s.title.empty() ? s.name : fmt::format("{}: {}", s.name, s.title));
  if (s.stall) {
    stalled(s, *s.stall, page);
  } else if (s.ending == Ending::stalled) {
    page.plain(fmt::format("Engine stalled at {:.2f} s.", s.simulated));
  } else if (s.ending == Ending::interrupted) {
    page.plain(
        s.simulated == 0.0
            ? fmt::format("Interrupted at {:.2f} s of warm-up. No results.", s.settle)
            : fmt::format("Interrupted at {:.2f} s. The figures below count up to there.", s.simulated));
  }
  for (const auto& warning : s.warnings) page.text(wrapped("Warning: " + warning, "", "  "));
  if (!s.provenance.empty()) page.text(wrapped("Values: " + s.provenance + ".", "", "  "));
}

void mixture(const Summary& s, Page& page) {
  page.head("Air and fuel");
  page.line("air", fmt::format("{} g/s", number_text(s.air_flow * 1e3, 3)));
  page.line("fuel", fmt::format("{} g/s", number_text(s.fuel_flow * 1e3, 4)));
  for (const auto& c : s.circuits) {
    std::string name = c.name == "main" ? "main nozzle" : c.name == "idle" ? "idle outlet" : c.name;
    if (c.name.starts_with("port_")) name = "transfer port " + c.name.substr(5);
    if (c.name == "pump") name = "accelerator pump";
    page.line("  " + name,
              fmt::format("{:>9} g/s {:>6} %", number_text(c.flow * 1e3, 4), number_text(c.share * 100, 1)));
  }
  if (s.stood_off > 1e-9) page.line("blown back out", fmt::format("{:.4f} g", s.stood_off * 1e3));
  if (s.overflowed > 1e-9) page.line("overflowed", fmt::format("{:.3f} g", s.overflowed * 1e3));

  page.head("Lambda");
  page.line("at the carburetor", s.fuel_flow > 0.0 && !no_fuel(s.carburetor_lambda)
                                     ? "mean " + lambda_text(s.carburetor_lambda)
                                     : std::string("no fuel"));
  for (std::size_t k = 0; k < s.cylinders.size(); ++k)
    page.line(fmt::format("trapped, cylinder {}", k + 1), lambda_line(s.cylinders[k]));
  page.line("misfires",
            fmt::format("{} of {} charges", s.misfires, s.cycles * static_cast<long>(s.cylinders.size())));
}

void engine(const Summary& s, Page& page) {
  page.head("Engine");
  page.line("speed", fmt::format("mean {} 1/min, from {} to {}", number_text(per_minute(s.speed), 0),
                                 number_text(per_minute(s.cycle_speed.lowest), 0),
                                 number_text(per_minute(s.cycle_speed.highest), 0)));
  page.line("torque", fmt::format("{} N m at the shaft, {} N m of the gas", number_text(s.torque, 2),
                                  number_text(s.indicated, 2)));
  page.line("power", fmt::format("{} kW", number_text(s.power * 1e-3, 2)));
  page.line("manifold pressure", fmt::format("{} kPa", number_text(s.manifold_pressure * 1e-3, 2)));
  page.line("nozzle depression", fmt::format("{} kPa", number_text(s.depression * 1e-3, 3)));
  if (s.lift)
    page.line("piston lift",
              fmt::format("mean {} mm, from {} to {}", number_text(s.lift->mean * 1e3, 2),
                          number_text(s.lift->lowest * 1e3, 2), number_text(s.lift->highest * 1e3, 2)));
  page.line("bowl level",
            fmt::format("mean {} mm, lowest {} mm (float datum 0)", number_text(s.bowl_level.mean * 1e3, 2),
                        number_text(s.bowl_level.lowest * 1e3, 2)));
}

void blip(const BlipLag& b, Page& page) {
  page.head(fmt::format("Throttle opened at {:.3f} s, judged by {} until {:.3f} s", b.start,
                        b.torque ? "torque" : "speed", b.end));
  if (!b.note.empty()) page.line("lag", "not known: " + b.note);
  if (std::isfinite(b.peak)) {
    page.line("with ideal mixture",
              b.torque ? fmt::format("{:.1f} to {:.1f} N m, half of it after {} ms", b.before, b.peak,
                                     number_text(b.yardstick_50 * 1e3, 0))
                       : fmt::format("{:.0f} to {:.0f} 1/min, half of it after {} ms", per_minute(b.before),
                                     per_minute(b.peak), number_text(b.yardstick_50 * 1e3, 0)));
    if (b.note.empty()) {
      page.line("10 % of that rise", reached(b.rise_10, b.lag_10));
      page.line("50 % of that rise", reached(b.rise_50, b.lag_50));
      page.line("90 % of that rise", reached(b.rise_90, b.lag_90));
    }
  }
  page.line("trapped lambda",
            fmt::format("richest {}, leanest {}", lambda_text(b.richest), lambda_text(b.leanest)));
  page.line("lean beyond 1.15",
            fmt::format("{:.2f} ms (lambda times time, worst cylinder)", b.lean_area * 1e3));
  page.line("misfires", fmt::format("{}", b.misfires));
  if (std::isfinite(b.lift_50)) page.line("piston half up", fmt::format("after {:.0f} ms", b.lift_50 * 1e3));
  if (std::isfinite(b.pump_volume))
    page.line("pump shot",
              std::isfinite(b.pump_duration)
                  ? fmt::format("{:.3f} cm3 over {:.0f} ms", b.pump_volume * 1e6, b.pump_duration * 1e3)
                  : fmt::format("{:.3f} cm3", b.pump_volume * 1e6));
}

void accounts(const Summary& s, Page& page) {
  page.head("Accounts");
  page.line("fuel closes to", fmt::format("{:.1e} of what moved", s.budget.fuel));
  page.line("air closes to", fmt::format("{:.1e} of what moved", s.budget.air));
  page.line("energy closes to",
            fmt::format("{:.1e} of what moved (worst: {})", s.budget.energy, s.budget.energy_volume));
  if (!s.budget.lowest_margin_name.empty() && s.budget.lowest_margin < 0.0)
    page.line("below its bound", fmt::format("{} by {:.1e} of its nominal size", s.budget.lowest_margin_name,
                                             -s.budget.lowest_margin));
  page.line(
      "simulated",
      fmt::format("{:.3f} s{} and {} cycles in {:.2f} s: {:.1f} simulated seconds per second", s.simulated,
                  s.settle > 0.0 ? fmt::format(" after {:.2f} s of settling", s.settle) : "", s.cycles,
                  s.wall, s.realtime_factor()));
}

}  // namespace

std::string summary_text(const Summary& s) {
  Page page;
  ending(s, page);
  if (s.simulated > 0.0) {
    mixture(s, page);
    engine(s, page);
  }
  if (s.blip && s.simulated > 0.0) blip(*s.blip, page);
  accounts(s, page);
  return page.take();
}

std::string summary_caution(const Summary& s) {
  std::string what;
  if (s.lean_charges > few_charges)
    what = fmt::format(
        "{:.0f} % of a cylinder's charges were beyond the lean limit for what filled it "
        "(lambda 0.95 when\nfull, 1.20 when a third full; common practice)",
        s.lean_charges * 100.0);
  else if (s.lambda.highest > doubtful_lambda)
    what = "charges leaner than lambda 1.15 occurred";
  else
    return {};
  return fmt::format(
      "\nCaution: {}. Under load a mixture like that overheats an\n"
      "engine and can seize it. This is a model: the workshop manual and local emission rules "
      "come first.\n",
      what);
}

}  // namespace glassbowl::sim
