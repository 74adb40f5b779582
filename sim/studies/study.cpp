#include "sim/studies/study.hpp"

#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "models/constants.hpp"
#include "sim/api/error.hpp"
#include "sim/studies/adjuster.hpp"
#include "sim/studies/altitude_study.hpp"
#include "sim/studies/blip_study.hpp"
#include "sim/studies/compare_study.hpp"
#include "sim/studies/jets_study.hpp"
#include "sim/studies/map_study.hpp"
#include "sim/studies/overlap_study.hpp"
#include "sim/studies/sheet_study.hpp"

namespace glassbowl::sim {

const char* const leaner_caution =
    "CAUTION: lean running. Too little fuel under load overheats, holes pistons and seizes engines; a "
    "seized engine can throw its rider. Fit nothing that runs leaner than what is fitted because of a number "
    "printed here: no smaller fuel jet, no larger air jet, no lower needle or float level, no mixture screw "
    "further in. Start rich, go one size at a time, read the plugs, stop at the first sign. Petrol vapour "
    "burns: open bowls outdoors, away from flames and hot pipes, with an extinguisher at hand. The workshop "
    "manual and the emission rules that hold where you are come first.\n";

double per_minute(double speed) {
  return speed * 30.0 / m::constants::pi;
}

double from_per_minute(double speed) {
  return speed * m::constants::pi / 30.0;
}

std::string request_json(const StudyRequest& r) {
  nlohmann::ordered_json variants = nlohmann::ordered_json::array();
  for (const auto& v : r.variants) variants.push_back({{"name", v.name}, {"sets", v.sets}});
  const nlohmann::ordered_json json{{"study", r.study},
                                    {"speeds_rad_s", r.speeds},
                                    {"openings", r.openings},
                                    {"altitudes_m", r.altitudes},
                                    {"warmer_K", r.warmer},
                                    {"variants", variants},
                                    {"tries_SI", r.tries},
                                    {"targets", r.targets},
                                    {"change", r.change},
                                    {"beside", r.beside},
                                    {"beside_name", r.beside_name},
                                    {"tolerance", r.accuracy.tolerance},
                                    {"cycles_in_a_row", r.accuracy.in_a_row},
                                    {"most_cycles", r.accuracy.most_cycles}};
  return json.dump(1);
}

// What a file may ask of a search.
constexpr int most_in_a_row = 100, most_cycles_asked = 100000;

StudyRequest request_from_json(const std::string& text) {
  try {
    const auto json = nlohmann::json::parse(text);
    StudyRequest r;
    json.at("study").get_to(r.study);
    json.at("speeds_rad_s").get_to(r.speeds);
    json.at("openings").get_to(r.openings);
    json.at("altitudes_m").get_to(r.altitudes);
    json.at("warmer_K").get_to(r.warmer);
    for (const auto& v : json.at("variants"))
      r.variants.push_back({v.at("name").get<std::string>(), v.at("sets").get<Sets>()});
    json.at("tries_SI").get_to(r.tries);
    json.at("targets").get_to(r.targets);
    json.at("change").get_to(r.change);
    json.at("beside").get_to(r.beside);
    json.at("beside_name").get_to(r.beside_name);
    json.at("tolerance").get_to(r.accuracy.tolerance);
    json.at("cycles_in_a_row").get_to(r.accuracy.in_a_row);
    json.at("most_cycles").get_to(r.accuracy.most_cycles);
    if (!(r.accuracy.tolerance > 0.0) || r.accuracy.in_a_row < 1 || r.accuracy.in_a_row > most_in_a_row ||
        r.accuracy.most_cycles < 1 || r.accuracy.most_cycles > most_cycles_asked)
      throw Error(ErrorKind::file,
                  fmt::format("the accuracy kept in this study makes no sense: tolerance {}, "
                              "{} cycles in a row, {} at most",
                              r.accuracy.tolerance, r.accuracy.in_a_row, r.accuracy.most_cycles));
    return r;
  } catch (const nlohmann::json::exception& failure) {
    throw Error(ErrorKind::file,
                fmt::format("the inputs kept in this study cannot be read: {}", failure.what()));
  }
}

StudyResult run_study(const ResolvedCase& given, const StudyRequest& request, PointRunner& runner) {
  const ResolvedCase resolved = with_stock(given);
  if (request.study == "map") return run_map(resolved, request, runner);
  if (request.study == "overlap") return run_overlap(resolved, request, runner);
  if (request.study == "blips") return run_blips(resolved, request, runner);
  if (request.study == "altitude") return run_altitude(resolved, request, runner);
  if (request.study == "jets") return run_jets(resolved, request, runner);
  if (request.study == "compare") return run_compare(resolved, request, runner);
  if (request.study == "sheet") return run_sheet(resolved, request, runner);
  throw Error(ErrorKind::file, fmt::format("there is no study called \"{}\"", request.study));
}

}  // namespace glassbowl::sim
