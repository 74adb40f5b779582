#include "sim/studies/study.hpp"
#include "sim/report/wrap_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <sstream>

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
                                    {"bikes", r.bikes},
                                    {"lean_risk", r.lean_risk},
                                    {"tolerance", r.accuracy.tolerance},
                                    {"cycles_in_a_row", r.accuracy.in_a_row},
                                    {"most_cycles", r.accuracy.most_cycles}};
  return json.dump(1);
}

namespace {

[[noreturn]] void refuse_request(const std::string& why) {
  throw Error(ErrorKind::file, fmt::format("the request stored in this study cannot be read: {}. Compute the "
                                           "study again with its command, such as `glassbowl map CASE`",
                                           why));
}

/// The member of that name; `target` stays as it is where an optional one is missing.
template <class T>
void take(const nlohmann::json& from, const char* name, T& target, bool optional = false) {
  const auto found = from.find(name);
  if (found == from.end()) {
    if (optional) return;
    refuse_request(fmt::format("\"{}\" is missing", name));
  }
  try {
    found->get_to(target);
  } catch (const nlohmann::json::exception&) {
    constexpr std::size_t shown = 40;
    const std::string text = found->dump(-1, ' ', true, nlohmann::json::error_handler_t::replace);
    refuse_request(fmt::format("\"{}\" has a value of the wrong kind, {}{}", name, text.substr(0, shown),
                               text.size() > shown ? " ..." : ""));
  }
}

int count_of(const nlohmann::json& from, const char* name, bool optional = false) {
  double count = 0.0;
  take(from, name, count, optional);
  return static_cast<int>(std::clamp(count, 0.0, 1e9));
}

}  // namespace

StudyRequest request_from_json(const std::string& text) {
  const auto json = nlohmann::json::parse(text, nullptr, false);
  if (json.is_discarded()) refuse_request("it is no JSON text");
  if (!json.is_object()) refuse_request("it is no JSON object");
  StudyRequest r;
  take(json, "study", r.study);
  take(json, "speeds_rad_s", r.speeds);
  take(json, "openings", r.openings);
  take(json, "altitudes_m", r.altitudes);
  take(json, "warmer_K", r.warmer);
  nlohmann::json variants;
  take(json, "variants", variants);
  if (!variants.is_array()) refuse_request("\"variants\" is no array");
  for (const auto& v : variants) {
    if (!v.is_object()) refuse_request("a variant is no object with \"name\" and \"sets\"");
    Variant variant;
    take(v, "name", variant.name);
    take(v, "sets", variant.sets);
    r.variants.push_back(std::move(variant));
  }
  take(json, "tries_SI", r.tries);
  take(json, "targets", r.targets);
  take(json, "change", r.change);
  take(json, "beside", r.beside);
  take(json, "beside_name", r.beside_name);
  take(json, "lean_risk", r.lean_risk, true);  // studies made before sizes had spreads have none
  take(json, "tolerance", r.accuracy.tolerance);
  r.accuracy.in_a_row = count_of(json, "cycles_in_a_row");
  r.accuracy.most_cycles = count_of(json, "most_cycles");
  r.bikes = count_of(json, "bikes", true);
  return r;
}

std::vector<std::string> chart_names(const std::string& study) {
  static const std::map<std::string, std::vector<std::string>> names{
      {"map", {"lambda_", "main_share", "torque", "band_"}},
      {"overlap", {"shares_", "effects_"}},
      {"blips", {"blip_response", "blip_lambda"}},
      {"altitude", {"equal_throttle", "equal_power", "power_left"}},
      {"jets", {"fitted_", "best", "after_", "band_"}},
      {"sheet", {"fitted_", "best", "shares_", "effects_", "band_"}},
      {"compare", {"lambda1_", "lambda2_", "full_power", "blip_response", "blip_lambda"}}};
  const auto found = names.find(study);
  return found != names.end() ? found->second : std::vector<std::string>{};
}

namespace {

/// Altitudes and speeds that round to one number would give two charts one name.
void give_own_names(std::vector<Chart>& charts) {
  std::map<std::string, int> seen;
  for (auto& chart : charts)
    if (const int number = ++seen[chart.name]; number > 1) chart.name += fmt::format("_{}", number);
}

StudyResult run_asked(const ResolvedCase& resolved, const StudyRequest& request, PointScheduler& scheduler) {
  if (request.study == "map") return run_map(resolved, request, scheduler);
  if (request.study == "overlap") return run_overlap(resolved, request, scheduler);
  if (request.study == "blips") return run_blips(resolved, request, scheduler);
  if (request.study == "altitude") return run_altitude(resolved, request, scheduler);
  if (request.study == "jets") return run_jets(resolved, request, scheduler);
  if (request.study == "compare") return run_compare(resolved, request, scheduler);
  if (request.study == "sheet") return run_sheet(resolved, request, scheduler);
  throw Error(ErrorKind::file, fmt::format("there is no study called \"{}\"", request.study));
}

/// Names the points that could not be computed, with their reasons: all in the file, the first in the answer.
void add_failures(StudyResult& out, const std::vector<PointFailure>& failures) {
  if (failures.empty()) return;
  ResultAxis axis{"failed_point", "1", "number of a point that could not be computed", {}};
  ResultText names{"failed_point_name", "the point that could not be computed", axis.name, {}},
      reasons{"failed_point_reason", "why it could not be computed", axis.name, {}};
  for (const auto& failure : failures) {
    axis.values.push_back(static_cast<double>(axis.values.size() + 1));
    names.values.push_back(failure.name);
    reasons.values.push_back(failure.why_not);
  }
  out.file.axes.push_back(std::move(axis));
  for (auto* text : {&names, &reasons}) out.file.texts.push_back(std::move(*text));

  constexpr std::size_t shown = 3;
  out.answer += fmt::format("Not computed: {} point{}.\n", failures.size(), failures.size() == 1 ? "" : "s");
  for (std::size_t i = 0; i < std::min(shown, failures.size()); ++i)
    out.answer += wrapped(fmt::format("{}: {}", failures[i].name, failures[i].why_not), "  ", "    ");
  if (failures.size() > shown)
    out.answer += "  ... The others, with their reasons, are in the study: failed_point_reason.\n";
}

}  // namespace

StudyResult run_study(const ResolvedCase& given, const StudyRequest& request, PointScheduler& scheduler) {
  StudyResult out = run_asked(with_stock(given), request, scheduler);
  add_failures(out, scheduler.failures());
  give_own_names(out.charts);
  if (out.sheet) give_own_names(out.sheet->charts);
  return out;
}

}  // namespace glassbowl::sim
