#include "viz/page/page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <vector>

#include "sim/api/error.hpp"
#include "sim/api/new_file.hpp"
#include "viz/cutaway/explain.hpp"
#include "viz/cutaway/hits.hpp"
#include "viz/cutaway/plan.hpp"
#include "viz/look/palette.hpp"
#include "viz/page/text.hpp"
#include "viz/plots/mixture.hpp"

namespace glassbowl::viz {

extern const char* const page_script;

namespace {

constexpr std::size_t most_rows = 6000;  // of each channel; of longer runs every second or third row

std::string quoted(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\')
      (out += '\\') += c;
    else if (c == '<')
      out += "\\u003c";  // no end of the script that holds it
    else if (static_cast<unsigned char>(c) < 0x20)
      out += fmt::format("\\u{:04x}", static_cast<int>(c));
    else
      out += c;
  }
  return out + "\"";
}

std::string css(sf::Color c, float alpha = 1.0F) {
  return alpha >= 1.0F ? fmt::format("#{:02x}{:02x}{:02x}", c.r, c.g, c.b)
                       : fmt::format("rgba({},{},{},{:.2f})", c.r, c.g, c.b, alpha);
}

/// Sixteen bits a value between the least and the greatest, the last code for none.
std::string packed(const std::vector<double>& values) {
  double low = INFINITY, high = -INFINITY;
  for (const double v : values)
    if (std::isfinite(v)) low = std::min(low, v), high = std::max(high, v);
  if (!(high >= low)) low = high = 0.0;
  const double span = high > low ? high - low : 1.0;
  std::string bytes;
  for (const double v : values) {
    const auto code =
        std::isfinite(v) ? static_cast<unsigned>(std::lround(65534.0 * (v - low) / span)) : 65535U;
    bytes.push_back(static_cast<char>(code & 255U));
    bytes.push_back(static_cast<char>(code >> 8U));
  }
  return fmt::format("{{\"low\":{:.9g},\"high\":{:.9g},\"data\":\"{}\"}}", low, low + span, base64(bytes));
}

std::vector<std::string> wanted_channels(const sim::DrawingDimensions& g) {
  std::vector<std::string> out{
      "crank_angle",         "speed",           "throttle",          "choke",
      "plate_angle",         "airbox_pressure", "inlet_pressure",    "throat_pressure",
      "mixing_pressure",     "bowl_level",      "manifold_pressure", "well_level",
      "main_fuel_flow",      "main_jet_flow",   "idle_fuel_flow",    "slow_jet_flow",
      "riser_void_fraction", "depression",      "bore_flow",         "feed_flow"};
  for (std::size_t i = 0; i < g.ports.size(); ++i) out.push_back(fmt::format("port_{}_fuel_flow", i + 1));
  if (g.pump_fitted) out.insert(out.end(), {"pump_fuel_flow", "pump_travel"});
  if (g.enrichment_fitted) out.emplace_back("enrichment_fuel_flow");
  if (g.vacuum_piston) out.insert(out.end(), {"piston_lift", "piston_chamber_pressure"});
  for (std::size_t k = 1; k <= g.firing.size(); ++k) {
    out.push_back(fmt::format("exhaust_{}_pressure", k));
    for (const char* name : {"pressure", "burn_rate", "intake_lift", "exhaust_lift", "trapped_lambda"})
      out.push_back(fmt::format("cylinder_{}_{}", k, name));
  }
  return out;
}

std::string channels_json(Source& source, double from, double to) {
  const std::size_t first = source.row_at(from), last = source.row_at(to);
  const std::size_t step = 1 + (last - first) / most_rows;
  std::vector<std::size_t> rows;
  for (std::size_t row = first; row <= last; row += step) rows.push_back(row);
  std::vector<double> values;
  for (const auto row : rows) values.push_back(source.row_time(row));
  std::string out = "\"time\":" + packed(values);
  for (const auto& name : wanted_channels(source.geometry())) {
    const int channel = source.find(name);
    if (channel == no_channel) continue;
    values.clear();
    for (const auto row : rows) values.push_back(source.value(channel, row));
    out += ",\n" + quoted(name) + ":" + packed(values);
  }
  return "{" + out + "}";
}

std::string list(const std::vector<double>& values) {
  std::string out;
  for (const double v : values)
    out += (out.empty() ? "" : ",") + (std::isfinite(v) ? fmt::format("{:.5g}", v) : std::string("null"));
  return "[" + out + "]";
}

std::string cycles_json(Source& source, const Signals& s, double from, double to) {
  std::string out;
  for (const auto& cycle : Mixture(source).between(from, to)) {
    std::vector<double> lambda, filling, limits;
    std::string fired;
    for (const auto& c : cycle.cylinders) {
      lambda.push_back(c.lambda);
      filling.push_back(c.filling);
      limits.push_back(sim::lean_limit_at(c.filling));
      fired += (fired.empty() ? "" : ",") + std::string(c.fired ? "true" : "false");
    }
    const Instant at(source, cycle.start + 0.5 * cycle.duration);
    double ports = 0.0;
    for (const int port : s.cycle_port) ports += at.cycle(port);
    const auto flow = [&](int channel) { return std::isfinite(at.cycle(channel)) ? at.cycle(channel) : 0.0; };
    out += fmt::format(
        "{}{{\"start\":{:.6f},\"duration\":{:.6f},\"limit\":{:.4f},\"lambda\":{},\"filling\":{},\"own_"
        "limit\":{},"
        "\"fired\":[{}],\"flows\":{}}}",
        out.empty() ? "" : ",\n", cycle.start, cycle.duration, cycle.limit, list(lambda), list(filling),
        list(limits), fired,
        list({flow(s.cycle_idle), ports, flow(s.cycle_main), flow(s.cycle_pump), flow(s.cycle_enrichment)}));
  }
  return "[" + out + "]";
}

std::string plan_json(const sim::DrawingDimensions& g, const CarburetorPlan& p) {
  const double slow_feed = g.slow_from_well ? p.foot + 1e-3 : p.foot - 5e-3;
  const double right = std::max({g.enrichment_fitted ? p.enrichment_x + 11e-3 : 0.0, p.idle_x + 5e-3,
                                 g.pump_fitted ? p.pump_right + 3e-3 : 0.0});
  const double low = std::min({p.foot - 3e-3, p.needle_foot - 3e-3, p.foot - 12e-3});
  std::string out;
  const auto add = [&](const char* name, double v) { out += fmt::format("\"{}\":{:.7g},", name, v); };
  add("left", p.left), add("right", p.right), add("bottom", std::min(p.bottom, low)), add("top", p.top);
  add("axis", p.axis), add("floor", p.floor), add("roof", p.roof), add("horn", p.horn),
      add("outlet", p.outlet);
  add("choke_x", p.choke_x), add("throat_x", p.throat_x), add("throat_half", p.throat_half);
  add("bowl_left", p.bowl_left), add("bowl_right", p.bowl_right), add("bowl_floor", p.bowl_floor);
  add("bowl_top", p.bowl_top), add("well_left", p.well_left), add("well_right", p.well_right);
  add("well_top", p.well_top), add("riser_left", p.riser_left), add("riser_right", p.riser_right);
  add("foot", p.foot), add("needle_foot", p.needle_foot), add("gallery", p.gallery);
  add("gallery_half", p.gallery_half), add("slow_x", p.slow_x), add("slow_channel", p.slow_channel);
  add("slow_half", p.slow_half), add("slow_air_x", p.slow_air_x), add("idle_x", p.idle_x);
  add("slow_feed", slow_feed), add("slow_from", g.slow_from_well ? p.riser_right : p.bowl_right);
  add("pump_left", p.pump_left), add("pump_right", p.pump_right), add("pump_roof", p.pump_roof);
  add("pump_nozzle_x", p.pump_nozzle_x), add("enrichment_x", p.enrichment_x);
  add("diaphragm_rest", p.diaphragm_rest), add("chamber_roof", p.chamber_roof);
  add("right_of_body", right), add("low", low);
  out += "\"walls\":[";
  constexpr int pieces = 90;
  for (int i = 0; i <= pieces; ++i) {
    const double x = p.horn - 6e-3 + (p.outlet - p.horn + 6e-3) * i / pieces;
    out += fmt::format("{}[{:.6g},{:.6g}]", i > 0 ? "," : "", x, p.lower_wall(x));
  }
  return "{" + out + "]}";
}

std::string engine_json(const sim::DrawingDimensions& g, const EnginePlan& e) {
  std::string cylinders;
  for (std::size_t k = 0; k < e.cylinder_x.size(); ++k)
    cylinders +=
        fmt::format("{}{{\"x\":{:.6g},\"intake\":{:.6g},\"tilt\":{:.6g},\"side\":{:g},\"firing\":{:.8g}}}",
                    k > 0 ? "," : "", e.cylinder_x[k], e.intake_x[k], e.tilt[k], e.side[k],
                    k < g.firing.size() ? g.firing[k] : 0.0);
  return fmt::format(
      "{{\"left\":{:.6g},\"right\":{:.6g},\"bottom\":{:.6g},\"top\":{:.6g},\"plenum_bottom\":{:.6g},"
      "\"plenum_top\":{:.6g},\"plenum_right\":{:.6g},\"runner\":{:.6g},\"clearance\":{:.6g},\"skirt\":{:.6g},"
      "\"pin\":{:.6g},\"liner\":{:.6g},\"crank_drop\":{:.6g},\"web\":{:.6g},\"exhaust_shift\":{:.6g},\"vee\":"
      "{},"
      "\"cylinders\":[{}]}}",
      e.left, e.right, e.bottom, e.top, e.plenum_bottom, e.plenum_top, e.plenum_right, e.runner_half,
      e.clearance, e.skirt, e.pin, e.liner, e.crank_drop, e.crank_web, e.exhaust_shift,
      e.vee ? "true" : "false", cylinders);
}

std::string geometry_json(const sim::DrawingDimensions& g) {
  std::string out;
  const auto add = [&](const char* name, double v) { out += fmt::format("\"{}\":{:.7g},", name, v); };
  const auto flag = [&](const char* name, bool v) {
    out += fmt::format("\"{}\":{},", name, v ? "true" : "false");
  };
  flag("piston", g.vacuum_piston), flag("pump", g.pump_fitted), flag("enrichment", g.enrichment_fitted);
  flag("choke", g.choke_fitted);
  add("set_level", g.bowl_set_level), add("lip", g.nozzle_lip), add("main_jet", g.main_jet.bore);
  add("bore", g.bore), add("shaft", g.shaft), add("choke_bore", g.choke_bore), add("idle_stop", g.idle_stop);
  add("rest_gap", g.piston_rest_gap), add("slide", g.slide_diameter), add("diaphragm", g.diaphragm_diameter);
  add("needle_raised", g.needle_raised), add("screw_back", g.screw_turns * g.screw_pitch);
  add("pump_stroke", g.pump_stroke), add("pump_height", g.pump_nozzle_height);
  add("stroke", g.stroke), add("rod", g.rod), add("cylinder", g.cylinder_bore);
  add("intake_valve", g.intake_valve), add("exhaust_valve", g.exhaust_valve);
  add("exhaust", std::min(g.exhaust_valve, g.exhaust_diameter));
  out += "\"ports\":[";
  for (std::size_t i = 0; i < g.ports.size(); ++i)
    out += fmt::format("{}{{\"position\":{:.6g},\"diameter\":{:.6g}}}", i > 0 ? "," : "", g.ports[i].position,
                       g.ports[i].diameter);
  out += "],\"holes\":[";
  for (std::size_t i = 0; i < g.holes.size(); ++i)
    out += fmt::format("{}{:.6g}", i > 0 ? "," : "", g.holes[i].height);
  out += "],\"needle\":[";
  for (std::size_t i = 0; i < g.needle.x.size(); ++i)
    out += fmt::format("{}[{:.6g},{:.6g}]", i > 0 ? "," : "", g.needle.x[i], g.needle.y[i]);
  return "{" + out + "]}";
}

/// What a part's line of present values is made of.
struct Reading {
  Part part;
  const char *text, *channel;
  double factor;
  const char* unit;
  int digits;
};
constexpr std::array readings{
    Reading{Part::bowl, "level", "bowl_level", 1e3, "mm", 2},
    Reading{Part::bowl, "in", "feed_flow", 1e6, "mg/s", 0},
    Reading{Part::main_jet, "fuel", "main_jet_flow", 1e6, "mg/s", 0},
    Reading{Part::well, "level", "well_level", 1e3, "mm", 2},
    Reading{Part::riser, "air", "riser_void_fraction", 100.0, "%", 0},
    Reading{Part::nozzle, "fuel", "main_fuel_flow", 1e6, "mg/s", 0},
    Reading{Part::nozzle, "depression", "depression", 1e-3, "kPa", 2},
    Reading{Part::slow_jet, "fuel", "slow_jet_flow", 1e6, "mg/s", 1},
    Reading{Part::idle_outlet, "fuel", "idle_fuel_flow", 1e6, "mg/s", 1},
    Reading{Part::transfer_port, "first port", "port_1_fuel_flow", 1e6, "mg/s", 1},
    Reading{Part::throat, "pressure", "throat_pressure", 1e-3, "kPa", 2},
    Reading{Part::throat, "air", "bore_flow", 1e3, "g/s", 2},
    Reading{Part::pump, "travel", "pump_travel", 1e3, "mm", 2},
    Reading{Part::pump, "out", "pump_fuel_flow", 1e6, "mg/s", 0},
    Reading{Part::vacuum_piston, "lift", "piston_lift", 1e3, "mm", 1},
    Reading{Part::manifold, "pressure", "manifold_pressure", 1e-3, "kPa", 1},
    Reading{Part::enrichment, "fuel", "enrichment_fuel_flow", 1e6, "mg/s", 0},
    Reading{Part::throttle_plate, "open", "throttle", 100.0, "%", 1},
    Reading{Part::cylinder, "pressure in the first", "cylinder_1_pressure", 1e-3, "kPa", 0}};

std::string parts_json(Source& source, const Signals& signals) {
  const auto& g = source.geometry();
  const Instant now(source, source.first_time());
  std::string out;
  for (int i = 1; i < static_cast<int>(Part::count); ++i) {
    const auto part = static_cast<Part>(i);
    const bool absent = (part == Part::transfer_port && g.ports.empty()) || part == Part::film ||
                        (!g.vacuum_piston && (part == Part::vacuum_piston || part == Part::needle)) ||
                        (!g.pump_fitted && (part == Part::pump || part == Part::pump_nozzle)) ||
                        (!g.enrichment_fitted && part == Part::enrichment);
    if (absent) continue;
    const Explanation e = explain({part, 0}, signals, now);
    std::string values;
    for (const auto& r : readings)
      if (r.part == part && source.find(r.channel) != no_channel)
        values += fmt::format(R"({}{{"text":"{}","channel":"{}","factor":{:g},"unit":"{}","digits":{}}})",
                              values.empty() ? "" : ",", r.text, r.channel, r.factor, r.unit, r.digits);
    out += fmt::format("{}{}:{{\"name\":{},\"size\":{},\"duty\":{},\"now\":[{}]}}", out.empty() ? "" : ",\n",
                       quoted(name_of(part)), quoted(e.name), quoted(e.size), quoted(e.duty), values);
  }
  return "{" + out + "}";
}

std::string graphs_json(Source& source, const Theme& theme) {
  const std::size_t n = source.geometry().firing.size();
  const auto greatest = [&](const char* name) {
    double most = 0.0;
    const int channel = source.find(name);
    const std::size_t step = 1 + (source.end_row() - source.first_row()) / 4000;
    for (std::size_t row = source.first_row(); channel != no_channel && row < source.end_row(); row += step)
      if (const double v = source.value(channel, row); std::isfinite(v)) most = std::max(most, v);
    return most;
  };
  std::string lambda;
  for (std::size_t k = 0; k < n; ++k)
    lambda += fmt::format(R"({}{{"channel":"cylinder_{}_trapped_lambda","color":"{}","dash":{}}})",
                          k > 0 ? "," : "", k + 1, css(theme.text), k == 0 ? "[]" : "[6,4]");
  std::string out = fmt::format(
      R"({{"name":"lambda","weight":2.4,"low":0.6,"high":1.4,"factor":1,"lambda":true,"series":[{}]}})",
      lambda);
  const auto row = [&](const char* name, double high, double factor, const std::string& series) {
    out += fmt::format(
        ",\n{{\"name\":\"{}\",\"weight\":1.2,\"low\":0,\"high\":{:.4g},\"factor\":{:g},\"series\":[{}]}}",
        name, std::max(high * factor * 1.05, 1e-3), factor, series);
  };
  const auto series = [&](const char* channel, Hue hue) {
    return fmt::format(R"({{"channel":"{}","color":"{}"}})", channel,
                       hue == Hue::count ? css(theme.text) : css(color_of(hue, theme)));
  };
  row("fuel [mg/s]", std::max(greatest("main_fuel_flow"), greatest("idle_fuel_flow")), 1e6,
      series("main_fuel_flow", Hue::main) + "," + series("idle_fuel_flow", Hue::idle) + "," +
          series("pump_fuel_flow", Hue::pump));
  row("throttle [%]", 1.0, 100.0, series("throttle", Hue::count));
  row("speed [rpm]", greatest("speed"), 30.0 / 3.14159265358979, series("speed", Hue::count));
  row("manifold [kPa]", greatest("manifold_pressure"), 1e-3, series("manifold_pressure", Hue::count));
  return "[" + out + "]";
}

std::string colors_json(const Theme& t) {
  std::string out;
  const auto add = [&](const char* name, const std::string& color) {
    out += fmt::format("\"{}\":\"{}\",", name, color);
  };
  add("background", css(t.background)), add("panel", css(t.panel)), add("metal", css(t.metal));
  add("edge", css(t.metal_edge)), add("text", css(t.text)), add("faint", css(t.faint));
  add("danger", css(t.danger)), add("danger_band", css(t.danger, 0.22F)), add("flame", css(t.flame));
  add("body", css(mixed(t.background, t.metal, 0.38F))), add("fuel", css(color_of(Hue::fuel, t)));
  add("idle", css(color_of(Hue::idle, t))), add("transfer", css(color_of(Hue::transfer, t)));
  add("main", css(color_of(Hue::main, t))), add("pump", css(color_of(Hue::pump, t)));
  out += "\"enrichment\":\"" + css(color_of(Hue::enrichment, t)) + "\"";
  return "{" + out + "}";
}

std::string data_json(Source& source, const Signals& s, double from, double to, const Theme& theme) {
  const auto& g = source.geometry();
  const double ambient = Instant(source, from)[s.ambient_pressure];
  std::string circuits, pressures;
  for (const Hue hue : {Hue::idle, Hue::transfer, Hue::main, Hue::pump, Hue::enrichment})
    circuits += fmt::format(R"({}{{"name":"{}","color":"{}"}})", circuits.empty() ? "" : ",", name_of(hue),
                            css(color_of(hue, theme)));
  const double air = std::isfinite(ambient) ? ambient : 101325.0;
  for (int i = 0; i < 9; ++i) {  // the scale's own stations, found by their places on it
    double low = -90e3, high = 90e3;
    for (int k = 0; k < 50; ++k)
      (pressure_place(air + 0.5 * (low + high), air) < i / 8.0 ? low : high) = 0.5 * (low + high);
    const sf::Color c = pressure_color(air + 0.5 * (low + high), air, theme);
    pressures += fmt::format("{}[{},{},{}]", i > 0 ? "," : "", c.r, c.g, c.b);
  }
  return fmt::format(
      "{{\"ambient\":{:.1f},\"colors\":{},\"circuits\":[{}],\"pressures\":[{}],\n\"plan\":{},\n\"engine\":{},"
      "\n"
      "\"geometry\":{},\n\"parts\":{},\n\"graphs\":{},\n\"cycles\":{},\n\"channels\":{}}}",
      air, colors_json(theme), circuits, pressures, plan_json(g, CarburetorPlan(g)),
      engine_json(g, EnginePlan(g)), geometry_json(g), parts_json(source, s), graphs_json(source, theme),
      cycles_json(source, s, from, to), channels_json(source, from, to));
}

std::string page_of(Source& source, const std::string& data, const Theme& t) {
  const std::string style = fmt::format(
      "*{{box-sizing:border-box}}body{{margin:0;background:{0};color:{1};font:15px/1.4 sans-serif}}"
      "header,footer,#bar,#part{{padding:8px "
      "12px}}h1{{font-size:18px;margin:0}}#now{{color:{2};white-space:pre-wrap}}"
      "#alarm{{background:{3};color:{4};padding:6px "
      "12px;font-weight:bold}}canvas{{display:block;width:100%;touch-action:pan-y}}"
      "#drawing{{height:min(62vw,520px)}}#graph{{height:330px;touch-action:none}}"
      "#band{{display:flex;height:30px;margin:4px 12px;background:{5}}}#band "
      "span{{overflow:hidden;text-align:center;line-height:30px}}"
      "#band b{{background:{0};color:{1};padding:2px 6px;font-weight:normal;white-space:nowrap}}"
      "#bar{{display:flex;gap:8px;align-items:center;flex-wrap:wrap}}button,select{{font:inherit;padding:8px "
      "14px;background:{6};"
      "color:{1};border:0;border-radius:2px}}#scrub{{flex:1;min-width:160px}}#part{{background:{5};border-"
      "left:4px solid {1};margin:4px 12px}}"
      "#part h2{{font-size:16px;margin:0}}#part p{{margin:2px "
      "0}}#part-now{{font-weight:bold}}footer{{color:{2};font-size:13px}}"
      "@media(max-width:700px){{#drawing{{height:125vw}}#graph{{height:300px}}}}"
      "@media print{{body{{background:#fff;color:#000}}#bar{{display:none}}}}",
      css(t.background), css(t.text), css(t.faint), css(t.danger), t.dark ? "#000" : "#fff", css(t.panel),
      css(t.edge));
  return "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\n"
         "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>" +
         escaped(source.title()) + "</title>\n<style>" + style + "</style></head><body>\n<header><h1>" +
         escaped(source.title()) +
         "</h1><div id=\"now\"></div></header>\n<div id=\"alarm\" role=\"alert\" hidden></div>\n"
         "<canvas id=\"drawing\" aria-label=\"section of carburetor and engine; tap a part\"></canvas>\n"
         "<div id=\"band\" aria-label=\"share of each circuit in the fuel of this cycle\"></div>\n"
         "<div id=\"part\" hidden><h2 id=\"part-name\"></h2><p id=\"part-size\"></p><p id=\"part-now\"></p>"
         "<p id=\"part-duty\"></p></div>\n<div id=\"bar\"><button id=\"play\">Play</button>\n"
         "<select id=\"slow\" aria-label=\"speed\"><option value=\"1\">real time</option><option "
         "value=\"10\">1/10</option>"
         "<option value=\"50\" selected>1/50</option><option value=\"200\">1/200</option>"
         "<option value=\"1000\">1/1000</option></select>\n"
         "<input id=\"scrub\" type=\"range\" min=\"0\" max=\"10000\" value=\"0\" aria-label=\"time\"></div>\n"
         "<canvas id=\"graph\" aria-label=\"graphs over time; touch to set the time\"></canvas>\n"
         "<footer>Tap a part to read about it. Computed by glassbowl, drawn to scale; dots only show that "
         "fuel flows. "
         "A model, not a measurement: before you change a jet, the workshop manual and local rules decide. "
         "Petrol burns, "
         "and a lean engine can seize.</footer>\n<script type=\"application/json\" id=\"data\">" +
         data + "</script>\n<script>" + page_script + "</script>\n</body></html>\n";
}

}  // namespace

void write_page(Source& source, const Signals& signals, const PagePlan& plan) {
  sim::check_output(plan.target, plan.replace);
  if (source.empty())
    throw sim::Error(sim::ErrorKind::file, "the trace holds no rows: there is nothing to export");
  const double first = source.first_time(), last = source.last_time();
  const double from = std::clamp(plan.from.value_or(first), first, last),
               to = std::clamp(plan.to.value_or(last), first, last);
  if (!(to > from)) throw sim::Error(sim::ErrorKind::input, "the span to export is empty");
  const Theme& theme = plan.dark ? dark_theme() : light_theme();
  sim::write_new_file(plan.target, plan.replace,
                      page_of(source, data_json(source, signals, from, to, theme), theme));
}

}  // namespace glassbowl::viz
