#include <fmt/format.h>

#include "sim/bike/provenance.hpp"
#include "sim/cases/estimate_note.hpp"
#include "sim/report/case_values.hpp"
#include "sim/report/html_text.hpp"
#include "sim/run/version.hpp"
#include "sim/studies/measuring.hpp"

namespace glassbowl::sim {
namespace {

constexpr std::size_t on_first_page = 10;
constexpr double least_shown = 0.002;  // [-] of lambda; smaller ones drown in the tolerance of the points

const char* const style = R"css(
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { font: .95rem/1.35 system-ui, sans-serif; color: #111; background: #fff; margin: 0 auto; padding: 1rem; max-width: 52rem; }
h1 { font-size: 1.3rem; margin: 0 0 .2rem; } h2 { font-size: 1.1rem; margin: 1rem 0 .3rem; } p { margin: .2rem 0 .5rem; }
.size { display: grid; grid-template-columns: 2rem 9.5rem 1fr 13.5rem; gap: .2rem .8rem; border-top: 1px solid #999; padding: .35rem 0; break-inside: avoid; align-items: start; }
.size > .number { font-size: 1.2rem; font-weight: 700; overflow-wrap: normal; }
.size h3 { font-size: 1rem; margin: 0; } .size p { margin: .1rem 0; } .size > div { min-width: 0; overflow-wrap: anywhere; } small { color: #333; }
.blank { border: 1.5px solid #111; height: 2.1rem; display: flex; align-items: end; justify-content: end; padding: .1rem .4rem; }
.place { width: 100%; height: auto; display: block; border: 1px solid #ccc; overflow: hidden; }
.body { fill: #e4e7ea; stroke: none; } .line { fill: none; stroke: #222; stroke-width: .9; } .part { fill: #f7f3e3; stroke: #222; stroke-width: .6; }
.plate { fill: #8a94a0; stroke: #222; stroke-width: .5; } .fuel { fill: #f1d08a; stroke: none; } .axis { stroke: #888; stroke-width: .4; stroke-dasharray: 5 1.5 1 1.5; fill: none; }
.dim { stroke: #b3001b; fill: none; } .head { fill: #b3001b; }
@page { size: A4; margin: 10mm 12mm; }
@media (max-width: 40rem) { .size { grid-template-columns: 2rem 1fr; } .size > :nth-child(n+3) { grid-column: 2; } }
@media print { html { font-size: 8.6pt; } body { padding: 0; max-width: none; } .second { break-before: page; } .size { padding: .25rem 0; } }
)css";

std::string row(const UnmeasuredSize& size, std::size_t number) {
  const MeasuringPlace& place = *size.place;
  const std::string spread = spread_text(size.spread, size.unit);
  std::string value = plain_value(size.origin);
  constexpr std::size_t most = 60;  // tables of points are long
  if (value.size() > most) value = value.substr(0, most) + " ...";
  const bool same = std::string_view(place.path) == place.tells;
  return fmt::format(
      "<div class=\"size\"><div "
      "class=\"number\">{}</div><div>{}</div><div><h3>{}</h3><p>{}</p><p><small>Tool: "
      "{}. {} {}{}{}</small></p></div><div><div class=\"blank\">{}</div><small>moves lambda by {:.3f}{}<br>{}"
      "</small></div></div>\n",
      number, drawing_of(place), html_text(place.name), html_text(place.how), html_text(place.tool),
      size.origin.kind == Origin::Kind::estimated  ? "Estimated:"
      : size.origin.kind == Origin::Kind::borrowed ? "Borrowed:"
                                                   : "Default:",
      same ? "" : html_text(std::string(place.tells) + " "), html_text(value),
      spread.empty() ? "" : " &plusmn; " + spread, place.unit, size.of_lambda,
      std::abs(size.of_margin) >= least_shown
          ? fmt::format(", the lean margin by {:.3f}", std::abs(size.of_margin))
          : "",
      html_text(place.path));
}

}  // namespace

std::string measuring_sheet_html(const ResolvedCase& resolved, const WhatToMeasure& found) {
  const std::string bike =
      resolved.title.empty() ? resolved.name : resolved.name + " (" + resolved.title + ")";
  std::string out = fmt::format(
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" "
      "content=\"width=device-width, initial-scale=1\">\n<link rel=\"icon\" href=\"data:,\">\n"
      "<title>Measuring sheet: {0}</title>\n<style>{1}</style>\n</head>\n<body>\n{2}<h1>Measuring sheet: "
      "{0}</h1>\n",
      html_text(bike), style, drawing_definitions());
  out += fmt::format(
      "<p>First the sizes that sharpen lambda and the lean margin of this bike most. As described, lambda is "
      "known within &plusmn; {:.2f}; with the first ten measured, within &plusmn; {:.2f} (95 %, rms of {} "
      "operating points, first order). Values: {}. Ignition off, engine cold, no flame near fuel; the "
      "workshop "
      "manual "
      "comes first.</p>\n",
      found.range_now, found.range_after, found.places.size(), html_text(provenance_text(resolved)));
  std::size_t number = 0;
  std::string no_workshop;
  for (const auto& size : found.sizes) {
    if (size.place == nullptr) {
      if (size.of_lambda >= least_shown)
        no_workshop += fmt::format("<li>{} = {} &plusmn; {}: moves lambda by {:.3f}</li>\n",
                                   html_text(size.origin.path), html_text(plain_value(size.origin)),
                                   spread_text(size.spread, size.unit), size.of_lambda);
      continue;
    }
    if (number >= on_first_page && size.of_lambda < least_shown) continue;
    if (number == on_first_page) out += "<h2 class=\"second\">Then, if there is time</h2>\n";
    out += row(size, ++number);
  }
  if (!no_workshop.empty())
    out +=
        "<h2>What no workshop measures</h2>\n<p>Only readings of lambda on the road settle these.</p>\n<ul>" +
        no_workshop + "</ul>\n";
  out += fmt::format(
      "<p><small>Drawings: where to measure, not to scale, no real carburetor or engine. Give what you "
      "measured "
      "in the case file, under the key that stands below its blank. {}</small></p>\n</body>\n</html>\n",
      html_text(fmt::format("glassbowl {}.", program_version())));
  return out;
}

}  // namespace glassbowl::sim
