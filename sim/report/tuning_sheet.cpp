#include "sim/report/tuning_sheet.hpp"

#include <fmt/format.h>

#include <array>
#include <sstream>

#include "sim/report/html_text.hpp"

namespace glassbowl::sim {
namespace {

const char* const style = R"css(
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { font: 1rem/1.45 system-ui, sans-serif; color: #111; background: #fff; margin: 0 auto; padding: 1rem; max-width: 52rem; }
h1 { font-size: 1.5rem; margin: 0 0 .25rem; } h2 { font-size: 1.15rem; margin: 1.5rem 0 .5rem; }
.caution { border: 3px solid #D55E00; padding: .75rem 1rem; margin: 1rem 0; background: #fff6f0; }
.caution strong { display: block; font-size: 1.1rem; }
table { border-collapse: collapse; width: 100%; } th, td { text-align: left; padding: .35rem .5rem; border-bottom: 1px solid #ccc; vertical-align: top; }
.settings td:not(:first-child) { white-space: nowrap; }
.charts { display: grid; gap: 1.5rem; max-width: 42rem; }
figure { margin: 0; break-inside: avoid; } figure svg { width: 100%; height: auto; display: block; } figcaption { font-size: .875rem; color: #333; }
li { margin: .3rem 0; break-inside: avoid; } .answer { white-space: pre-line; overflow-wrap: anywhere; } small { color: #444; }
.tick { display: inline-block; width: 1em; height: 1em; border: 1.5px solid #111; margin-right: .5em; vertical-align: -.1em; }
@page { size: A4; margin: 14mm; }
@media print { html { font-size: 10pt; } body { padding: 0; max-width: none; } h2 { break-after: avoid; } tr { break-inside: avoid; } .charts { grid-template-columns: 1fr 1fr; max-width: none; } }
)css";

constexpr std::array<const char*, 10> questions{
    "Before the start: does the throttle snap shut by itself with the bars at both locks? Are all hoses on, "
    "nothing wet, no "
    "smell of petrol? If not, stop here.",
    "Warm engine, idling: does it hold its speed? Turn the mixture screw slowly out and in: is the best idle "
    "near the setting "
    "above?",
    "Snap the throttle open a little, standing: does it pick up at once, or cough (too lean), or stutter and "
    "smoke (too rich)?",
    "Smallest openings, steady in a low gear: smooth, or surging (lean)? This is idle outlet and slow jet.",
    "Open slowly from small to a third: is there a flat spot where the transfer ports hand over to the main "
    "nozzle? At which "
    "mark on the grip?",
    "Half throttle uphill, steady: does it pull better or worse when the choke or the enrichment is touched? "
    "Better means lean there.",
    "Full throttle in a high gear, short, on a closed road: does it pull cleanly to the top? If it pulls "
    "better when you roll "
    "back to seven eighths, it is too lean: STOP and fit a larger main jet.",
    "Cut the ignition after that run with the clutch pulled, coast to a stop, read the plugs. Compare with "
    "the signs below.",
    "Blip from idle when hot: does speed fall back at once, or hang (lean, or an air leak)?",
    "Only now, and one size at a time, leaner: a smaller fuel jet or a larger air jet. Then all questions "
    "again, from "
    "the first."};

void row(std::string& out, std::initializer_list<std::string> cells, const char* tag) {
  out += "<tr>";
  for (const auto& cell : cells) out += fmt::format("<{0}>{1}</{0}>", tag, cell);
  out += "</tr>\n";
}

std::string settings_table(const std::vector<SheetSetting>& settings) {
  std::string out = "<table class=\"settings\">\n<thead>";
  row(out, {"", "now", "advised", ""}, "th");
  out += "</thead>\n<tbody>\n";
  for (const auto& s : settings)
    row(out, {html_text(s.name), html_text(s.now), "<b>" + html_text(s.advised) + "</b>", html_text(s.note)},
        "td");
  return out + "</tbody>\n</table>\n";
}

const char* const signs =
    R"html(<table><thead><tr><th></th><th>too lean</th><th>about right</th><th>too rich</th></tr></thead><tbody>
<tr><td>plug after a full-throttle cut</td><td>white, glazed, specks of metal, blistered</td><td>light tan to grey</td><td>dry black soot, or wet</td></tr>
<tr><td>idle</td><td>hunts, hangs after a blip, backfires on the overrun</td><td>steady</td><td>lumpy, loads up, smells</td></tr>
<tr><td>small openings</td><td>surges, needs choke or enrichment long</td><td>smooth</td><td>runs unevenly, fouls in town</td></tr>
<tr><td>opening quickly</td><td>coughs through the carburetor, dies away</td><td>picks up at once</td><td>stutters, black smoke</td></tr>
<tr><td>full throttle</td><td>runs hot, pings, fades, better when the air warms: shut off at once</td><td>pulls cleanly</td><td>dull, blubbers, worse when the air warms</td></tr>
</tbody></table>
<p><small>Common practice. Plug colour shows only what the last minute was like, and modern fuels colour plugs little.</small></p>
)html";

}  // namespace

std::string tuning_sheet_html(const TuningSheet& sheet) {
  std::string out =
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<link rel=\"icon\" href=\"data:,\">\n";
  out += fmt::format("<title>Tuning sheet: {}</title>\n<style>{}</style>\n</head>\n<body>\n",
                     html_text(sheet.bike), style);
  out += fmt::format("<h1>Tuning sheet: {}</h1>\n<p>{}</p>\n", html_text(sheet.bike),
                     html_text(sheet.conditions));
  out += fmt::format("<p class=\"answer\"><strong>{}</strong></p>\n", html_text(sheet.verdict));
  out += fmt::format(
      "<div class=\"caution\" role=\"note\"><strong>{}</strong>{}</div>\n",
      sheet.leaner ? "The advice below goes LEANER somewhere. Read this first." : "Read this first.",
      html_text(sheet.caution));
  out += "<h2>Settings</h2>\n" + settings_table(sheet.settings);
  out += fmt::format("<h2>What the computation says</h2>\n<p class=\"answer\">{}</p>\n",
                     html_text(sheet.answer));
  if (!sheet.values.empty())
    out +=
        fmt::format("<h2>Whose sizes these are</h2>\n<p class=\"answer\">{}</p>\n", html_text(sheet.values));
  out += "<h2>What the road test should answer, in this order</h2>\n<ol>\n";
  for (const auto* q : questions)
    out += fmt::format("<li><span class=\"tick\" aria-hidden=\"true\"></span>{}</li>\n", q);
  out += std::string("</ol>\n<h2>Signs</h2>\n") + signs;
  if (!sheet.charts.empty()) out += "<h2>Charts</h2>\n";
  out += "<div class=\"charts\">\n";
  for (const auto& chart : sheet.charts)
    out += fmt::format("<figure role=\"img\" aria-label=\"{}\">{}<figcaption>{}</figcaption></figure>\n",
                       html_text(chart.title), inline_svg(chart), html_text(chart.caption));
  out += fmt::format(
      "</div>\n<p><small>{}. A model, not the machine. The workshop manual comes "
      "first.</small></p>\n</body>\n</html>\n",
      html_text(sheet.made_by));
  return out;
}

}  // namespace glassbowl::sim
