#include "sim/interview/question.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cstdio>

#include "sim/bike/resolved_case.hpp"
#include "sim/cases/value_reading.hpp"

namespace glassbowl::sim {
namespace {

std::string trimmed(std::string_view text) {
  while (!text.empty() && std::isspace(static_cast<unsigned char>(text.front()))) text.remove_prefix(1);
  while (!text.empty() && std::isspace(static_cast<unsigned char>(text.back()))) text.remove_suffix(1);
  return std::string(text);
}

std::string lower(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return text;
}

bool is_bare_number(const std::string& text) {
  return !text.empty() && text.find_first_not_of("0123456789.+-/ ") == std::string::npos;
}

/// Splits at commas, semicolons and slashes that stand between blanks or numbers.
std::vector<std::string> parts_of(const std::string& text, std::string_view marks) {
  std::vector<std::string> out;
  std::string part;
  for (const char c : text + std::string(1, marks.front()))
    if (marks.find(c) != std::string_view::npos) {
      if (auto whole = trimmed(part); !whole.empty()) out.push_back(std::move(whole));
      part.clear();
    } else {
      part += c;
    }
  return out;
}

/// A number as people write it becomes a quantity: 850 or 850 cc is "850 cm3".
std::string with_unit(std::string text, const std::string& unit) {
  text = trimmed(text);
  if (const auto low = lower(text); low.ends_with("ccm"))
    text = text.substr(0, text.size() - 3) + "cm3";
  else if (low.ends_with("cc"))
    text = text.substr(0, text.size() - 2) + "cm3";
  for (const auto& [mark, meant] : {std::pair<std::string_view, const char*>{"\"", " in"}, {"°", " deg"}})
    if (text.ends_with(mark)) text = text.substr(0, text.size() - mark.size()) + meant;
  if (is_bare_number(text) && unit != units::one) text += " " + unit;
  return text;
}

std::string in_quotes(std::string_view text) {
  std::string out = "\"";
  for (const char c : text)
    if (c == '"' || c == '\\')
      out += std::string("\\") + c;
    else if (static_cast<unsigned char>(c) >= 0x20)
      out += c;
  return out + "\"";
}

std::string as_toml(const std::string& text, const std::string& unit) {
  const std::string quantity = with_unit(text, unit);
  return unit == units::one && is_bare_number(quantity) && quantity.find_first_of("/ ") == std::string::npos
             ? quantity
             : in_quotes(quantity);
}

AnswerReading checked(Answers values) {
  for (const auto& [key, value] : values)
    if (auto complaint = complaint_about(key, value); !complaint.empty()) return {{}, std::move(complaint)};
  return {std::move(values), {}};
}

AnswerReading one_quantity(const Question& q, const std::string& text) {
  return checked({{q.key, as_toml(text, find_declared(q.key)->unit)}});
}

/// A bore with its unit, or a flow with its head. A bare number is refused: it may be either.
AnswerReading jet(const Question& q, const std::string& text) {
  const std::string path = std::string(q.key).substr(0, std::string(q.key).rfind('.'));
  if (is_bare_number(text))
    return {{},
            fmt::format("\"{0}\" is no bore by itself: a number on a jet may stand for hundredths of a mm or "
                        "for a flow in cm3/min. Write for example \"1.50 mm\", or \"150 cm3/min at 500 mm\"",
                        text)};
  if (text.find("/min") == std::string::npos) return one_quantity(q, text);
  const std::size_t at = text.find(" at ");
  if (at == std::string::npos)
    return {{}, "a flow needs the head of its test; write for example \"150 cm3/min at 500 mm\""};
  std::string flow = trimmed(text.substr(0, at));
  if (const auto cc = flow.find("cc/"); cc != std::string::npos) flow.replace(cc, 2, "cm3");
  return checked({{path + ".flow_rating", in_quotes(flow)},
                  {path + ".flow_head", in_quotes(with_unit(text.substr(at + 4), "mm"))}});
}

AnswerReading free_text(const Question& q, const std::string& text) {
  return checked({{q.key, in_quotes(text)}});
}

AnswerReading whole_number(const Question& q, const std::string& text) {
  return checked({{q.key, text}});
}

AnswerReading yes_or_no(const Question& q, const std::string& text) {
  const std::string word = lower(text);
  if (word == "yes" || word == "y" || word == "true") return {{{q.key, "true"}}, {}};
  if (word == "no" || word == "n" || word == "false") return {{{q.key, "false"}}, {}};
  return {{}, fmt::format("\"{}\" is neither yes nor no; answer yes or no", text)};
}

AnswerReading kind_of_carburetor(const Question& q, const std::string& text) {
  const std::string word = lower(text);
  if (word.starts_with("f") || word == "1") return {{{q.key, "\"fixed_venturi\""}}, {}};
  if (word.starts_with("v") || word.starts_with("c") || word == "2")
    return {{{q.key, "\"constant_depression\""}}, {}};
  return {{},
          fmt::format("\"{}\" is neither; answer \"fixed\" for a fixed venturi, or \"vacuum\" for a piston "
                      "that vacuum lifts",
                      text)};
}

AnswerReading kind_of_filter(const Question& q, const std::string& text) {
  const std::string word = lower(text);
  for (const char* kind : {"paper", "foam", "gauze"})
    if (word == kind) return {{{q.key, in_quotes(kind)}}, {}};
  return {{}, fmt::format("\"{}\" is no such medium; answer paper, foam or gauze", text)};
}

/// "even", "360" (the second cylinder's angle), or all angles: "0, 408".
AnswerReading firing(const Question& q, const std::string& text) {
  if (lower(text) == "even") return {{}, {}};
  auto angles = parts_of(text, ",;");
  if (angles.size() == 1) angles.insert(angles.begin(), "0");
  std::string list;
  for (const auto& angle : angles) list += (list.empty() ? "" : ", ") + in_quotes(with_unit(angle, "deg"));
  return checked({{q.key, "[" + list + "]"}});
}

/// "20/55/55/20": intake opens before top, closes after bottom, exhaust opens before bottom, closes after
/// top.
AnswerReading cam(const Question&, const std::string& text) {
  constexpr std::array keys{"engine.intake.opens_before_top", "engine.intake.closes_after_bottom",
                            "engine.exhaust.opens_before_bottom", "engine.exhaust.closes_after_top"};
  const auto angles = parts_of(text, "/,;");
  if (angles.size() != keys.size())
    return {{}, fmt::format("these are {} angles; four are needed, such as 20/55/55/20", angles.size())};
  Answers out;
  for (std::size_t i = 0; i < keys.size(); ++i)
    out.emplace_back(keys[i], in_quotes(with_unit(angles[i], "deg")));
  return checked(std::move(out));
}

/// "10 at 1000, 33 at 3500", or one angle.
AnswerReading advance(const Question& q, const std::string& text) {
  std::string points;
  const auto parts = parts_of(text, ",;");
  for (const auto& part : parts) {
    const std::size_t at = part.find("at");
    if (at == std::string::npos) {
      if (parts.size() == 1) return checked({{q.key, in_quotes(with_unit(part, "deg"))}});
      return {
          {},
          fmt::format("\"{}\" names no speed; write for example \"10 deg at 1000 rpm, 33 deg at 3500 rpm\"",
                      part)};
    }
    points += fmt::format("{}[{}, {}]", points.empty() ? "" : ", ",
                          in_quotes(with_unit(part.substr(at + 2), "rpm")),
                          in_quotes(with_unit(part.substr(0, at), "deg")));
  }
  return checked({{q.key, "[" + points + "]"}});
}

/// "0 2.50, 10 2.45, 36 1.80": distance and diameter in mm.
AnswerReading needle(const Question& q, const std::string& text) {
  std::string points;
  for (const auto& part : parts_of(text, ",;")) {
    const auto pair = parts_of(part, " ");
    if (pair.size() != 2 || !is_bare_number(pair[0]) || !is_bare_number(pair[1]))
      return {{},
              fmt::format(
                  "\"{}\" is no pair of distance and diameter in mm; write for example \"0 2.50, 10 2.45, "
                  "36 1.80\"",
                  part)};
    points += fmt::format("{}[\"{} mm\", \"{} mm\"]", points.empty() ? "" : ", ", pair[0], pair[1]);
  }
  return checked({{q.key, "[" + points + "]"}});
}

/// "3 of 5": the groove counted from the top; grooves are 1 mm apart. Or a height: "0.5 mm".
AnswerReading clip(const Question& q, const std::string& text) {
  const std::size_t of = text.find(" of ");
  if (of == std::string::npos) return one_quantity(q, text);
  int groove = 0, grooves = 0;
  if (std::sscanf(text.c_str(), "%d of %d", &groove, &grooves) != 2 || groove < 1 || grooves > 9 ||
      groove > grooves)
    return {{}, fmt::format("\"{}\" is no groove; write for example \"3 of 5\", counted from the top", text)};
  return checked({{q.key, fmt::format("\"{} mm\"", groove - 0.5 * (grooves + 1))}});
}

/// A clear-tube level, "-3 mm"; or "height 15 mm" of the float.
AnswerReading level(const Question& q, const std::string& text) {
  if (lower(text).starts_with("height"))
    return checked({{"float.height", in_quotes(with_unit(text.substr(6), "mm"))}});
  return one_quantity(q, text);
}

/// Turns, or "best": found by computation.
AnswerReading screw(const Question& q, const std::string& text) {
  if (lower(text).starts_with("best")) return {{{"best_idle", "true"}}, {}};
  return one_quantity(q, text);
}

AnswerReading several_sizes(const Question& q, const std::string& text) {
  std::string list;
  const auto parts = parts_of(text, ",;");
  for (const auto& part : parts)
    list += (list.empty() ? "" : ", ") + in_quotes(with_unit(part, find_declared(q.key)->unit));
  return checked({{q.key, "[" + list + "]"}});
}

bool lifts(const KnownValues& k) {
  return k.word("carburetor.kind") == "constant_depression";
}
bool fixed(const KnownValues& k) {
  return !lifts(k);
}
bool several(const KnownValues& k) {
  return k.number("engine.cylinders") > 1.0;
}
bool always(const KnownValues&) {
  return true;
}
bool no_displacement(const KnownValues& k) {
  return !k.gives("engine.displacement");
}
bool has_paper(const KnownValues& k) {
  return k.gives("inlet.filter_paper");
}
bool no_ports_yet(const KnownValues& k) {
  return k.gives("carburetor.ports.position");
}

}  // namespace

bool not_known(std::string_view text) {
  const std::string word = lower(trimmed(text));
  for (const char* unknown :
       {"", "?", "-", "don't know", "dont know", "do not know", "unknown", "not known", "no idea"})
    if (word == unknown) return true;
  return false;
}

std::string complaint_about(std::string_view key, const std::string& value) {
  const auto all = declared_keys();
  const auto known =
      std::find_if(all.begin(), all.end(), [&](const Declaration& d) { return d.path == key; });
  if (known == all.end()) return fmt::format("there is no key \"{}\"", key);
  const Declaration& d = *known;
  const toml::table table = parse_value(value);
  const toml::node& node = *table.get("value");
  const auto wanted = [](const std::string& unit, Range range) {
    return Wanted{unit, range, example_in(unit, range)};
  };
  const auto words = [](const auto& reading) -> std::string {
    const auto* complaint = std::get_if<Complaint>(&reading);
    return complaint == nullptr ? "" : complaint->wrong + "; " + complaint->remedy;
  };
  switch (d.kind) {
    case Declaration::Kind::quantity:
      return words(read_number(node, wanted(d.unit, d.range)));
    case Declaration::Kind::quantities:
      return words(read_numbers(node, wanted(d.unit, d.range), d.max_count));
    case Declaration::Kind::points:
      return words(read_points(node, wanted(d.unit_x, d.range_x), wanted(d.unit, d.range)));
    case Declaration::Kind::integer:
      return words(read_integer(node, static_cast<int>(d.range.lowest), static_cast<int>(d.range.highest)));
    case Declaration::Kind::flag:
      return words(read_flag(node));
    case Declaration::Kind::text:
      return words(read_plain_text(node));
    case Declaration::Kind::choice:
      return words(read_choice(node, {d.names.begin(), d.names.end()}));
  }
  return {};
}

const std::vector<Question>& questions() {
  static const std::vector<Question> all{
      {"engine.displacement", "Displacement of all cylinders", "On the papers or the engine's casting.",
       "850 cc", one_quantity},
      {"engine.cylinders", "Cylinders fed by this carburetor",
       "One carburetor is simulated: count the cylinders that it feeds.", "2", whole_number, nullptr, always},
      {"engine.firing", "Firing angles",
       "\"even\"; 360 or 180 for the second of two; or all of them. Turn the crank and watch the points or "
       "valves.",
       "0, 408", firing, several},
      {"carburetor.kind", "Kind of carburetor",
       "\"fixed\": the throat keeps its size. \"vacuum\": a piston on a diaphragm rises by itself.", "fixed",
       kind_of_carburetor},
      {"carburetor.throttle.bore", "Carburetor bore at the throttle plate",
       "Inside caliper, on the engine's side.", "34 mm", one_quantity},
      {"carburetor.venturi.diameter", "Venturi",
       "Narrowest place, inside caliper; often stamped on the insert.", "28 mm", one_quantity, fixed},
      {"carburetor.main.jet.bore", "Main jet",
       "By its bore, or by its flow with the test head; ask the maker what its number means.",
       "1.50 mm, or 150 cm3/min at 500 mm", jet},
      {"carburetor.main.air_jet.bore", "Main air jet", "In the air horn or above the main well; plug gauges.",
       "1.70 mm", jet},
      {"carburetor.slow.jet.bore", "Slow jet", "By its bore, or by its flow with the test head.", "0.50 mm",
       jet},
      {"carburetor.slow.air_jet.bore", "Slow air jet", "In the air horn, beside the main air jet.", "1.00 mm",
       jet},
      {"carburetor.needle.jet_diameter", "Needle jet", "Inside; plug gauges. Look for an oval mouth.",
       "2.60 mm", one_quantity, lifts},
      {"carburetor.needle.diameter", "Needle",
       "Distance from the jet's mouth with the piston down, and diameter there, in mm; micrometer.",
       "0 2.59, 10 2.37, 36 0.70", needle, lifts},
      {"carburetor.needle.raised", "Needle clip",
       "Groove counted from the top, of how many; or by how much shims raise it.", "3 of 5, or 0.5 mm", clip,
       lifts},
      {"idle_speed", "Idle speed", "As it shall idle, warm, in neutral: the idle stop is found for it.",
       "1050 rpm", one_quantity},
      {"carburetor.screw.turns", "Mixture screw",
       "Turns out from lightly seated, or \"best\" to have best idle found.", "2.5", screw},
      {"float.level", "Fuel level",
       "Clear tube on the drain, against the bowl joint face, below it negative; or \"height\" and the "
       "float's height.",
       "-3 mm, or height 15 mm", level},
      {"engine.bore", "Cylinder bore", "Manual, or inside caliper.", "78 mm", one_quantity, nullptr,
       no_displacement},
      {"engine.stroke", "Stroke", "Manual, or depth gauge through the plug hole.", "89 mm", one_quantity,
       nullptr, no_displacement},
      {"engine.compression_ratio", "Compression ratio", "Manual, or oil from a burette at top dead centre.",
       "8.5", one_quantity},
      {"engine.intake.diameter", "Intake valve head", "Caliper, valve out; or the manual.", "39 mm",
       one_quantity},
      {"engine.intake.lift", "Intake valve lift", "Dial gauge on the valve's end.", "9 mm", one_quantity},
      {"engine.exhaust.diameter", "Exhaust valve head", "Caliper, valve out; or the manual.", "34 mm",
       one_quantity},
      {"engine.exhaust.lift", "Exhaust valve lift", "Dial gauge on the valve's end.", "8.5 mm", one_quantity},
      {"engine.intake.opens_before_top", "Cam timing",
       "Intake opens before top / closes after bottom / exhaust opens before bottom / closes after top, "
       "degrees.",
       "20/55/55/20", cam},
      {"engine.combustion.advance", "Ignition timing", "Before top dead centre at which speed; timing light.",
       "10 at 1000, 33 at 3500", advance},
      {"carburetor.pump.volume", "Accelerator pump, volume of one stroke",
       "Ten full strokes into a measuring glass, divided by ten; 0 if there is none.", "1 cc", one_quantity,
       fixed},
      {"inlet.pod", "Does the filter sit on the carburetor, without an airbox", "yes or no.", "no",
       yes_or_no},
      {"inlet.filter_paper", "Area of the filter's paper, foam or gauze",
       "Folds laid flat: height x depth x 2 x folds; ruler.", "900 cm2", one_quantity},
      {"inlet.filter_kind", "What the air passes through", "paper, foam or gauze.", "paper", kind_of_filter,
       has_paper},
      {"silencer.outlet_bore", "Bore of the silencer's outlet", "Smallest hole that all gas passes; caliper.",
       "32 mm", one_quantity},
      {"exhaust.diameter", "Bore of the exhaust pipe", "Inside, behind the port; caliper.", "38 mm",
       one_quantity},
      {"exhaust.length", "Length of the exhaust pipe", "From the valve to the silencer; string.", "550 mm",
       one_quantity},
      {"runner.length", "Length of the inlet tract", "From the manifold to the valve; wire.", "100 mm",
       one_quantity},
      {"carburetor.ports.position", "Transfer ports, places",
       "Each hole's middle upstream of the throttle shaft's plane; depth rod.", "3.9, 5.0, 6.1 mm",
       several_sizes},
      {"carburetor.ports.diameter", "Transfer ports, bores", "Each hole; wire gauges.", "0.7, 0.7, 0.7",
       several_sizes, no_ports_yet, no_ports_yet},
      {"title", "Name of this bike", "It stands on every sheet and page.", "Mail 850, winter jets",
       free_text},
  };
  return all;
}

}  // namespace glassbowl::sim
