#include "sim/studies/study_json.hpp"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "sim/run/summary.hpp"
#include "sim/studies/adjuster.hpp"
#include "sim/studies/blip_study.hpp"
#include "sim/studies/judging.hpp"

namespace glassbowl::sim {
namespace {

using Json = nlohmann::ordered_json;

Json number(double value) {
  return std::isfinite(value) ? Json(value) : Json(nullptr);
}

Json lambda(double value) {
  return no_fuel(value) ? Json(nullptr) : number(value);
}

const ResultVariable* find(const ResultFile& file, const std::string& name) {
  const auto found = std::find_if(file.variables.begin(), file.variables.end(),
                                  [&](const auto& v) { return v.name == name; });
  return found == file.variables.end() ? nullptr : &*found;
}

const ResultText* find_text(const ResultFile& file, const std::string& name) {
  const auto found =
      std::find_if(file.texts.begin(), file.texts.end(), [&](const auto& t) { return t.name == name; });
  return found == file.texts.end() ? nullptr : &*found;
}

/// Figures that a file keeps with this prefix, `count` of them from `first` on.
std::vector<SteadyFigures> figures_in(const ResultFile& file, const std::string& prefix, std::size_t first,
                                      std::size_t count) {
  std::vector<SteadyFigures> out(count);
  for (const auto& column : steady_columns) {
    const auto& values = file.variable(prefix + column.name).values;
    for (std::size_t i = 0; i < count; ++i) out[i].*column.value = values.at(first + i);
  }
  return out;
}

SteadyGrid grid_in(const ResultFile& file) {
  return {file.axis("altitude").values, file.axis("warmer").values, file.axis("speed").values,
          file.axis("throttle").values};
}

Json beyond_lean_limit(const SteadyFigures& f) {
  if (!f.usable() || std::isnan(f.leanest)) return nullptr;
  return pulls(f) && !lugging(f) && f.leanest > lean_limit_under_load(f.filling);
}

Json point(const Place& place, const SteadyFigures& f) {
  return {{"speed_rpm", number(per_minute(place.speed))},
          {"opening", number(place.opening)},
          {"altitude_m", number(place.altitude)},
          {"warmer_K", number(place.warmer)},
          {"lambda", lambda(f.trapped)},
          {"lambda_leanest_cylinder", lambda(f.leanest)},
          {"torque_Nm", number(f.torque)},
          {"power_kW", number(f.power * 1e-3)},
          {"fuel_g_per_s", number(f.fuel * 1e3)},
          {"misfires", number(f.misfires)},
          {"computed", f.usable()},
          {"converged", f.converged()},
          {"judged", pulls(f) && !lugging(f)},
          {"beyond_lean_limit", beyond_lean_limit(f)}};
}

/// A map that the file keeps with this prefix, from its `first` point on.
Json points(const ResultFile& file, const std::string& prefix = "", std::size_t first = 0) {
  const SteadyGrid grid = grid_in(file);
  const auto figures = figures_in(file, prefix, first, grid.size());
  const auto *low = find(file, prefix + "lambda_low"), *high = find(file, prefix + "lambda_high");
  Json out = Json::array();
  for (std::size_t i = 0; i < grid.size(); ++i) {
    Json p = point(grid.place(i), figures[i]);
    if (low != nullptr && high != nullptr) {
      p["lambda_low"] = lambda(low->values[first + i]);
      p["lambda_high"] = lambda(high->values[first + i]);
    }
    out.push_back(std::move(p));
  }
  return out;
}

/// One variable of the axis "altitude", beside its heights.
Json equal_power(const ResultFile& file, const std::string& prefix) {
  const auto& heights = file.axis("altitude").values;
  const std::string begin = prefix + "equal_power_";
  Json out = Json::array();
  for (std::size_t a = 0; a < heights.size(); ++a)
    out.push_back({{"altitude_m", number(heights[a])},
                   {"lambda", lambda(file.variable(begin + "lambda_trapped").values[a])},
                   {"opening", number(file.variable(begin + "throttle_found").values[a])},
                   {"power_kW", number(file.variable(begin + "power").values[a] * 1e-3)}});
  return out;
}

/// A setting of jets by its number: 0 as fitted.
Json setting(const ResultFile& file, const std::string& prefix, std::size_t k) {
  Json sizes = Json::object();
  const std::string begin = prefix + "size_";
  for (const auto& text : file.texts)
    if (text.name.starts_with(begin)) sizes[text.name.substr(begin.size())] = text.values[k];
  const auto at = [&](const char* name) {
    const auto* v = find(file, prefix + name);
    return v == nullptr ? Json(nullptr) : number(v->values[k]);
  };
  return {{"sizes", sizes},
          {"change", file.text(prefix + "candidate_setting").values[k]},
          {"error", at("error")},
          {"expected_error", at("expected_error")},
          {"leaner_points", at("leaner_points")},
          {"lean_margin", at("lean_margin")},
          {"lean_margin_low", at("lean_margin_low")},
          {"lean_margin_high", at("lean_margin_high")},
          {"rich_margin", at("rich_margin")},
          {"misfiring_points", at("misfiring")},
          {"probability_lean", at("probability_lean")}};
}

Json search(const ResultFile& file, const StudyRequest& request, const std::string& prefix) {
  auto targets = usual_targets();
  for (const auto& [region, wanted] : request.targets) targets[region] = wanted;
  Json best = Json::array();
  for (std::size_t k = 1; k < file.axis(prefix + "candidate").values.size(); ++k)
    best.push_back(setting(file, prefix, k));
  return {{"target", targets}, {"as_fitted", setting(file, prefix, 0)}, {"best", best}};
}

Json effects(const ResultFile& file) {
  const SteadyGrid grid = grid_in(file);
  const auto &names = file.text("adjuster_name").values, &steps = file.text("adjuster_step").values;
  const auto& change = file.variable("lambda_change").values;
  Json out = Json::array();
  for (std::size_t k = 0; k < names.size(); ++k) {
    Json changes = Json::array();
    for (std::size_t i = 0; i < grid.size(); ++i) changes.push_back(number(change[k * grid.size() + i]));
    out.push_back({{"adjuster", names[k]}, {"step_richer", steps[k]}, {"lambda_change", changes}});
  }
  return out;
}

/// Blips along an axis; every variable of that axis alone is one of their figures.
Json blips(const ResultFile& file, const std::string& axis, const std::string& prefix) {
  const auto& names = file.text(axis + "_name").values;
  Json out = Json::array();
  for (std::size_t k = 0; k < names.size(); ++k) {
    Json one{{"name", names[k]}};
    for (const auto& v : file.variables)
      if (v.axes == std::vector<std::string>{axis} && v.name.starts_with(prefix))
        one[v.name.substr(prefix.size()) + (v.unit == "1" ? "" : "_" + v.unit)] = number(v.values[k]);
    out.push_back(std::move(one));
  }
  return out;
}

Json what_matters(const ResultFile& file) {
  Json out = Json::array();
  const auto& keys = file.text("uncertain_key").values;
  for (std::size_t i = 0; i < keys.size(); ++i)
    out.push_back({{"key", keys[i]},
                   {"value", file.text("uncertain_value").values[i]},
                   {"spread", file.text("uncertain_spread").values[i]},
                   {"share_lambda", number(file.variable("share_lambda").values[i])},
                   {"share_margin", number(file.variable("share_margin").values[i])}});
  return out;
}

Json failures(const ResultFile& file) {
  Json out = Json::array();
  const auto *names = find_text(file, "failed_point_name"), *reasons = find_text(file, "failed_point_reason");
  if (names == nullptr || reasons == nullptr) return out;
  for (std::size_t i = 0; i < names->values.size(); ++i)
    out.push_back({{"point", names->values[i]}, {"why", reasons->values[i]}});
  return out;
}

std::string without_end(std::string text) {
  while (text.ends_with('\n')) text.pop_back();
  return text;
}

}  // namespace

std::string study_json(const StudyResult& result, const StudyRequest& request,
                       const std::vector<std::string>& files) {
  const ResultFile& file = result.file;
  Json out{{"study", file.study},
           {"title", file.title},
           {"version", file.version},
           {"verdict", without_end(result.verdict)},
           {"caution", without_end(result.caution)}};
  if (file.study == "map") {
    out["points"] = points(file);
  } else if (file.study == "overlap") {
    out["points"] = points(file);
    out["effects"] = effects(file);
  } else if (file.study == "altitude") {
    out["points"] = points(file);
    out["equal_power"] = equal_power(file, "");
    if (!request.beside.empty())
      out["beside"] = {{"name", request.beside_name},
                       {"points", points(file, "beside_")},
                       {"equal_power", equal_power(file, "beside_")}};
  } else if (file.study == "compare") {
    const auto& names = file.text("machine_name").values;
    Json machines = Json::array();
    for (std::size_t k = 0; k < names.size(); ++k)
      machines.push_back({{"name", names[k]}, {"points", points(file, "", k * grid_in(file).size())}});
    out["machines"] = machines;
    out["blips"] = blips(file, "machine", "blip_");
  } else if (file.study == "blips") {
    out["variants"] = blips(file, "variant", "");
  } else {  // jets, sheet
    const Json found = search(file, request, "");
    out.update(found);
    if (!request.change.empty()) out["after"] = search(file, request, "after_");
  }
  if (find_text(file, "uncertain_key") != nullptr) {
    out["bikes_drawn"] = request.bikes;
    out["what_matters"] = what_matters(file);
  }
  out["not_computed"] = failures(file);
  out["files"] = files;
  return out.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace glassbowl::sim
