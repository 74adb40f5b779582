#include "sim/report/measuring_place.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace glassbowl::sim {
namespace {

const char* const carburetor = R"svg(<symbol id="carburetor" viewBox="0 0 160 120" overflow="visible">
<path class="body" d="M6 14H150V20H6ZM6 14V20C22 20 30 28 44 29C60 30 70 20 84 20H150V12H6ZM6 62C22 62 30 54 44 53H48C60 54 70 62 84 62H150V68H6Z"/>
<path class="line" d="M6 20C22 20 30 28 44 29C60 30 70 20 84 20H150M6 62C22 62 30 54 44 53M50 53C60 54 70 62 84 62H150"/>
<path class="body" d="M14 68H140V74H14ZM14 74H18V114H140V74H136V110H18Z"/>
<path class="line" d="M14 74H140M14 68V114H140V68"/>
<path class="fuel" d="M18 82H41V106H53V82H136V110H18Z"/><path class="line" d="M18 82H41M53 82H136"/>
<path class="part" d="M82 84H126V98H82Z"/><path class="line" d="M82 84H126V98H82ZM126 88L134 72"/>
<path class="line" d="M41 62V106H45V103M53 62V106H49V103M45 46V98M49 46V98M41 62H45M49 62H53"/>
<path class="line" d="M46.2 103V109H47.8V103"/><path class="line" d="M43 80h1M50 80h1M43 86h1M50 86h1M43 92h1M50 92h1M43 98h1M50 98h1"/>
<path class="line" d="M30 64H41M30 63V65M30 62.5H26M30 65.5H26"/>
<path class="line" d="M70 110V100M72 110V100M70 100V68M72 100V68M70 66H108M72 68H104"/><circle class="line" cx="71" cy="104" r="1.6"/>
<path class="line" d="M60 64.5H70M60 63.5V66.5"/>
<path class="line" d="M92 62V66M95.5 62V66M99 62V66M106 62V66"/>
<path class="part" d="M105.3 70L106 63.5L106.7 70V78H105.3Z"/>
<path class="plate" d="M86.5 60.5L95.5 21.5L96.6 21.8L87.6 60.8Z"/><circle class="line" cx="91.5" cy="41" r="3"/>
<path class="plate" d="M10 40.4H28V41.6H10Z"/><circle class="line" cx="19" cy="41" r="1.6"/>
<path class="line" d="M34 68V48M37 68V48M34 48L40 46"/>
<path class="part" d="M22 100H38V104H22Z"/><path class="line" d="M22 104C26 108 34 108 38 104M30 104V98"/>
<path class="axis" d="M0 41H156"/></symbol>)svg";

const char* const engine = R"svg(<symbol id="engine" viewBox="0 0 240 140" overflow="visible">
<path class="body" d="M86 50H92V128H86ZM138 50H144V128H138ZM84 30H146V36H84Z"/>
<path class="line" d="M92 50V128M138 50V128M86 50V128M144 50V128"/>
<path class="part" d="M92.6 84H137.4V104H92.6Z"/><path class="line" d="M92.6 84H137.4V104H92.6ZM115 96L121 136"/>
<path class="line" d="M92 50C96 46 100 46 102 46M112 46H118M128 46C132 46 134 46 138 50"/>
<path class="line" d="M101 46C98 36 84 30 70 30H34M113 46C112 34 96 20 78 20H34"/>
<path class="line" d="M117 46C118 34 132 20 150 20H176M129 46C131 36 142 30 154 30H176"/>
<path class="plate" d="M100 48.5H114L109 45.5H105ZM106.4 10H107.6V46H106.4Z"/>
<path class="plate" d="M117 46.6H129L125 43.6H121ZM122.4 8H123.6V44H122.4Z"/>
<path class="body" d="M8 16H34V20H8ZM8 30H34V34H8Z"/><path class="line" d="M8 16V34M34 16V20M34 30V34"/>
<path class="line" d="M176 20C186 20 190 26 190 34V86M176 30C180 30 180 34 180 40V86"/>
<path class="line" d="M172 86H198V124H172ZM181 124V132M189 124V132"/>
<path class="axis" d="M115 4V136"/></symbol>)svg";

const char* const inlet = R"svg(<symbol id="inlet" viewBox="0 0 160 100" overflow="visible">
<path class="line" d="M40 14H116V86H40ZM8 62H40M8 78H40M116 34H152M116 66H152"/>
<path class="part" d="M62 16L66 84L70 16L74 84L78 16L82 84L86 16"/>
<path class="line" d="M62 16L66 84L70 16L74 84L78 16L82 84L86 16M60 14V86M88 14V86"/>
<path class="axis" d="M0 70H40M116 50H160"/><path class="line" d="M14 70H30M27 68L30 70L27 72M124 50H140M137 48L140 50L137 52"/></symbol>)svg";

constexpr double fine = 0.005, usual = 0.01, rough = 0.04, coarse = 0.10;

}  // namespace

const std::vector<MeasuringPlace>& measuring_places() {
  static const std::vector<MeasuringPlace> all{
      {"engine.bore", "engine.bore", "Cylinder bore",
       "Head off, or from the manual: across the bore, 20 mm below the top.", "bore gauge or inside caliper",
       "mm", fine, "engine", 92, 70, 138, 70},
      {"engine.stroke", "engine.stroke", "Stroke",
       "Depth of the piston at bottom and at top dead centre, the difference.", "depth gauge", "mm", fine,
       "engine", 152, 50, 152, 104},
      {"engine.rod", "engine.rod", "Connecting rod", "Centre to centre, from the manual or a spare rod.",
       "caliper, both bores added and halved", "mm", usual, "engine", 115, 96, 121, 136},
      {"engine.compression_ratio", "engine.compression_ratio", "Compression ratio",
       "Fill the closed chamber with oil at top dead centre by a burette: (swept + filled) / filled.",
       "burette 50 cm3", "", 0.03, "engine", 102, 50, 128, 84},
      {"engine.intake.diameter", "engine.intake.diameter", "Intake valve head",
       "Across the head, valve out, or by a spare valve.", "caliper", "mm", fine, "engine", 100, 52, 114, 52},
      {"engine.exhaust.diameter", "engine.exhaust.diameter", "Exhaust valve head",
       "Across the head, valve out, or by a spare valve.", "caliper", "mm", fine, "engine", 117, 50, 129, 50},
      {"engine.intake.lift", "engine.intake.lift", "Intake valve lift",
       "On the valve's stem end or retainer, clearance set: highest reading in two turns.", "dial gauge",
       "mm", 0.02, "engine", 107, 2, 107, 14},
      {"engine.exhaust.lift", "engine.exhaust.lift", "Exhaust valve lift",
       "On the valve's stem end or retainer, clearance set: highest reading in two turns.", "dial gauge",
       "mm", 0.02, "engine", 123, 0, 123, 12},
      {"engine.intake.opens_before_top", "engine.intake.opens_before_top",
       "Intake opens before top dead centre",
       "At 0.1 mm of lift, turning forward; say at what lift the manual counts.",
       "degree wheel and dial gauge", "deg", 0.10, "engine", 107, 2, 107, 14},
      {"engine.intake.closes_after_bottom", "engine.intake.closes_after_bottom",
       "Intake closes after bottom dead centre", "At 0.1 mm of lift, turning forward.",
       "degree wheel and dial gauge", "deg", 0.05, "engine", 107, 2, 107, 14},
      {"engine.exhaust.opens_before_bottom", "engine.exhaust.opens_before_bottom",
       "Exhaust opens before bottom dead centre", "At 0.1 mm of lift, turning forward.",
       "degree wheel and dial gauge", "deg", 0.05, "engine", 123, 0, 123, 12},
      {"engine.exhaust.closes_after_top", "engine.exhaust.closes_after_top",
       "Exhaust closes after top dead centre", "At 0.1 mm of lift, turning forward.",
       "degree wheel and dial gauge", "deg", 0.10, "engine", 123, 0, 123, 12},
      {"engine.combustion.advance", "engine.combustion.advance", "Ignition timing over speed",
       "At idle, at 2,000, 3,500 and 5,000 rpm, against the degree wheel.", "timing light", "deg at rpm",
       0.05, "engine", 115, 50, 115, 84},
      {"inlet.airbox_volume", "inlet.airbox_volume", "Volume of the airbox",
       "From filter to carburetor, in water: plug it and fill, or length x width x height.",
       "bucket and scale", "l", 0.05, "inlet", 90, 74, 114, 74},
      {"inlet.filter_paper", "inlet.filter_area", "Area of the filter's paper",
       "Folds laid flat: height x depth of a fold x 2 x number of folds. Foam or gauze: its outer face.",
       "ruler", "cm2", 0.12, "inlet", 60, 92, 88, 92},
      {"inlet.length", "inlet.length", "Length of the air duct", "From the outside to the filter.", "ruler",
       "mm", 0.05, "inlet", 8, 56, 40, 56},
      {"inlet.diameter", "inlet.diameter", "Bore of the air duct", "Narrowest place before the carburetor.",
       "caliper", "mm", 0.03, "inlet", 34, 62, 34, 78},
      {"manifold.volume", "manifold.volume", "Volume of the manifold",
       "From the throttle plate to where it divides (a single: half of the stub), filled with liquid.",
       "burette or scale", "cm3", 0.04, "engine", 8, 38, 34, 38},
      {"runner.length", "runner.length", "Length of the inlet tract",
       "From the manifold to the valve's seat, along the middle.", "soft wire and ruler", "mm", 0.05,
       "engine", 34, 14, 102, 42},
      {"runner.diameter", "runner.diameter", "Bore of the inlet tract",
       "Mean of several places; half way is usual.", "inside caliper", "mm", 0.02, "engine", 62, 20, 62, 30},
      {"exhaust.diameter", "exhaust.diameter", "Bore of the exhaust pipe", "Inside, behind the port.",
       "caliper", "mm", 0.02, "engine", 168, 20, 168, 30},
      {"exhaust.length", "exhaust.length", "Length of the exhaust pipe",
       "From the valve to the silencer, along the middle.", "string and ruler", "mm", 0.04, "engine", 186, 34,
       186, 86},
      {"exhaust.volume", "exhaust.volume", "Volume of port and pipe",
       "Section times length, and the port's volume by liquid.", "ruler", "l", 0.08, "engine", 186, 34, 186,
       86},
      {"silencer.volume", "silencer.volume", "Volume of the silencer",
       "Length times section of the outer shell; all silencers together.", "ruler", "l", 0.10, "engine", 172,
       105, 198, 105},
      {"silencer.outlet_bore", "silencer.area", "Bore of the silencer's outlet",
       "Inside of the tail pipe or the smallest hole that all gas passes; say how many silencers.", "caliper",
       "mm", 0.15, "engine", 181, 130, 189, 130},
      {"carburetor.throttle.bore", "carburetor.throttle.bore", "Carburetor bore at the plate",
       "On the engine's side, beside the plate.", "inside caliper", "mm", fine, "carburetor", 118, 20, 118,
       62},
      {"carburetor.throttle.shaft", "carburetor.throttle.shaft", "Throttle shaft",
       "Where it crosses the bore.", "caliper", "mm", usual, "carburetor", 86, 38, 86, 44},
      {"carburetor.throttle.closed_angle", "carburetor.throttle.closed_angle", "Angle of the shut plate",
       "Stop screw backed off: between plate and the plane square to the bore. Often stamped on the plate.",
       "protractor, or stamp on the plate", "deg", 0.08, "carburetor", 88, 62, 96, 20},
      {"carburetor.throttle.idle_gap", "carburetor.throttle.idle_stop", "Gap of the plate on its stop",
       "Feeler that just passes between plate and bore, square to the shaft; stop as it idles.",
       "feeler gauge", "mm", 0.05, "carburetor", 96.5, 14, 96.5, 26},
      {"carburetor.bore_length", "carburetor.bore_length", "Length of the bore",
       "From the air horn's mouth to the throttle shaft.", "ruler", "mm", 0.02, "carburetor", 6, 8, 91, 8},
      {"carburetor.mixing_volume", "carburetor.mixing_volume", "Bore between throat and plate",
       "Length from the narrowest place to the plate times the bore's section.", "ruler", "cm3", 0.05,
       "carburetor", 48, 8, 91, 8},
      {"carburetor.venturi.diameter", "carburetor.venturi.diameter", "Venturi",
       "Narrowest place; it may be stamped on the insert.", "inside caliper", "mm", fine, "carburetor", 56,
       29, 56, 53},
      {"carburetor.main.jet.bore", "carburetor.main.jet.bore", "Main jet",
       "Number and its maker's meaning, or the bore itself. Look at it with a glass: worn jets are oval.",
       "plug gauges, or a flow test", "mm", 0.01, "carburetor", 42, 107, 52, 107},
      {"carburetor.main.air_jet.bore", "carburetor.main.air_jet.bore", "Main air jet",
       "In the air horn, or under a plug above the well.", "plug gauges", "mm", 0.02, "carburetor", 28, 60,
       28, 68},
      {"carburetor.main.nozzle_diameter", "carburetor.main.nozzle_diameter", "Mouth of the nozzle",
       "Inside, where it opens into the venturi.", "plug gauges or drill shanks", "mm", 0.02, "carburetor",
       43, 43, 51, 43},
      {"carburetor.main.riser_diameter", "carburetor.main.riser_diameter", "Passage up to the nozzle",
       "Inside of the tube, or of the passage from well to nozzle.", "drill shanks", "mm", 0.03, "carburetor",
       43, 72, 51, 72},
      {"carburetor.main.well_diameter", "carburetor.main.well_diameter", "Main well", "Inside, tube out.",
       "drill shanks", "mm", 0.02, "carburetor", 41, 88, 53, 88},
      {"carburetor.main.tube_diameter", "carburetor.main.tube_diameter", "Air-bled tube", "Outside.",
       "caliper", "mm", 0.01, "carburetor", 44, 94, 50, 94},
      {"carburetor.main.hole_height", "carburetor.main.hole_height", "Rows of holes in the tube",
       "Each row below the bowl joint face: upper row first.", "depth gauge", "mm", 0.03, "carburetor", 56,
       74, 56, 98},
      {"carburetor.main.hole_diameter", "carburetor.main.hole_diameter", "Holes of the tube",
       "Bore of each row, and how many.", "small drills or wire", "mm", 0.04, "carburetor", 40, 92, 46, 92},
      {"carburetor.main.lip", "carburetor.main.lip", "Nozzle lip above the bowl joint face",
       "Upright, from the joint face up to the lowest edge over which fuel runs.", "depth gauge", "mm", 0.10,
       "carburetor", 60, 46, 60, 74},
      {"carburetor.main.foot", "carburetor.main.foot", "Foot of the well", "Below the bowl joint face.",
       "depth gauge", "mm", 0.03, "carburetor", 60, 74, 60, 106},
      {"carburetor.slow.jet.bore", "carburetor.slow.jet.bore", "Slow jet",
       "Number and its maker's meaning, or the bore itself.", "plug gauges", "mm", 0.015, "carburetor", 66,
       104, 76, 104},
      {"carburetor.slow.air_jet.bore", "carburetor.slow.air_jet.bore", "Slow air jet",
       "In the air horn, often beside the main air jet.", "plug gauges", "mm", 0.02, "carburetor", 58, 61, 58,
       68},
      {"carburetor.slow.passage_diameter", "carburetor.slow.passage_diameter", "Slow passage",
       "From the slow jet up.", "drill shanks", "mm", 0.04, "carburetor", 67, 90, 75, 90},
      {"carburetor.slow.channel_height", "carburetor.slow.channel_height",
       "Slow channel above the bowl joint face", "Highest place of the passage before the ports.",
       "depth gauge", "mm", 0.10, "carburetor", 78, 65, 78, 74},
      {"carburetor.screw.turns", "carburetor.screw.turns", "Mixture screw",
       "Count the turns in until it seats lightly, then set it back.", "screwdriver", "turns", 0.03,
       "carburetor", 103, 76, 109, 76},
      {"carburetor.screw.seat_bore", "carburetor.screw.seat_bore", "Hole of the mixture screw",
       "Where its tip enters the bore.", "wire gauges", "mm", 0.05, "carburetor", 103, 60, 109, 60},
      {"carburetor.screw.taper", "carburetor.screw.taper", "Tip of the mixture screw",
       "Full angle of the cone: two diameters and the length between.", "caliper and glass", "deg", 0.08,
       "carburetor", 103, 66, 109, 66},
      {"carburetor.ports.position", "carburetor.ports.position", "Transfer ports",
       "Each hole's middle, upstream of the throttle shaft's plane.", "depth rod and glass", "mm", 0.03,
       "carburetor", 92, 58, 99, 58},
      {"carburetor.ports.diameter", "carburetor.ports.diameter", "Bore of the transfer ports", "Each hole.",
       "wire gauges", "mm", 0.04, "carburetor", 93.5, 64, 97.5, 64},
      {"carburetor.needle.jet_diameter", "carburetor.needle.jet_diameter", "Needle jet",
       "Inside; look for an oval mouth.", "plug gauges", "mm", 0.003, "carburetor", 43, 43, 51, 43},
      {"carburetor.needle.diameter", "carburetor.needle.diameter", "Needle",
       "Diameter every 5 mm from where the jet's mouth is with the piston down.", "micrometer", "mm", 0.003,
       "carburetor", 44, 30, 50, 30},
      {"carburetor.piston.spring_preload", "carburetor.piston.spring_preload", "Spring of the piston",
       "Force to just lift the piston, less its weight.", "letter scale", "N", 0.05, "carburetor", 44, 14, 50,
       14},
      {"carburetor.piston.mass", "carburetor.piston.mass", "Piston with needle", "On a scale.",
       "letter scale", "g", 0.02, "carburetor", 40, 20, 54, 20},
      {"carburetor.piston.diaphragm_diameter", "carburetor.piston.diaphragm_diameter", "Diaphragm",
       "Middle of the fold, across.", "caliper", "mm", 0.02, "carburetor", 24, 12, 70, 12},
      {"carburetor.piston.slide_diameter", "carburetor.piston.slide_diameter", "Slide of the piston",
       "Across, where it enters the bore.", "caliper", "mm", 0.005, "carburetor", 36, 26, 58, 26},
      {"float.level", "float.level", "Fuel level by a clear tube",
       "Tube on the drain, held beside the bowl, carburetor upright, fuel on: level against the joint face.",
       "clear tube and ruler", "mm", 0.15, "carburetor", 138, 74, 138, 82},
      {"float.bowl_area", "float.bowl_area", "Surface of the bowl",
       "Inner length times width, less the float.", "ruler", "cm2", 0.06, "carburetor", 18, 79, 136, 79},
  };
  return all;
}

const MeasuringPlace* find_measuring_place(std::string_view path) {
  const auto& all = measuring_places();
  const auto found =
      std::find_if(all.begin(), all.end(), [&](const auto& place) { return path == place.tells; });
  return found == all.end() ? nullptr : &*found;
}

std::string drawing_definitions() {
  return fmt::format(
      "<svg width=\"0\" height=\"0\" style=\"position:absolute\" aria-hidden=\"true\">{}{}{}</svg>\n",
      carburetor, engine, inlet);
}

std::string drawing_of(const MeasuringPlace& p) {
  const bool of_carburetor = std::string_view(p.drawing) == "carburetor";
  const double width = of_carburetor || std::string_view(p.drawing) == "inlet" ? 160 : 240;
  const double height = of_carburetor ? 120 : std::string_view(p.drawing) == "inlet" ? 100 : 140;
  // The place in the middle, with room around it.
  const double span_x = std::abs(p.x2 - p.x1), span_y = std::abs(p.y2 - p.y1);
  const double w = std::clamp(2.4 * std::max(span_x, 1.5 * span_y), 84.0, width), h = w / 1.5;
  const auto within = [](double middle, double size, double all) {
    return std::clamp(middle - 0.5 * size, std::min(-4.0, all - size), std::max(-4.0, all - size + 4.0));
  };
  const double x = within(0.5 * (p.x1 + p.x2), w, width), y = within(0.5 * (p.y1 + p.y2), h, height);
  const double length = std::hypot(p.x2 - p.x1, p.y2 - p.y1);
  const double ux = (p.x2 - p.x1) / length, uy = (p.y2 - p.y1) / length, s = 0.028 * w;
  const auto head = [&](double px, double py, double dx, double dy) {
    return fmt::format("M{:.2f} {:.2f}L{:.2f} {:.2f}L{:.2f} {:.2f}Z", px, py, px + s * (2 * dx - 0.7 * dy),
                       py + s * (2 * dy + 0.7 * dx), px + s * (2 * dx + 0.7 * dy),
                       py + s * (2 * dy - 0.7 * dx));
  };
  // Short distances get their arrows from outside.
  const double in = length > 5.0 * s ? 1.0 : -1.0, tail = in > 0.0 ? 0.0 : 5.0 * s;
  return fmt::format(
      "<svg class=\"place\" viewBox=\"{:.1f} {:.1f} {:.1f} {:.1f}\" role=\"img\" aria-label=\"{}\">"
      "<use href=\"#{}\" width=\"{}\" height=\"{}\"/>"
      "<path class=\"dim\" style=\"stroke-width:{:.2f}\" d=\"M{:.2f} {:.2f}L{:.2f} {:.2f}\"/>"
      "<path class=\"head\" d=\"{}{}\"/></svg>",
      x, y, w, h, p.name, p.drawing, width, height, 0.012 * w, p.x1 - tail * ux, p.y1 - tail * uy,
      p.x2 + tail * ux, p.y2 + tail * uy, head(p.x1, p.y1, in * ux, in * uy),
      head(p.x2, p.y2, -in * ux, -in * uy));
}

}  // namespace glassbowl::sim
