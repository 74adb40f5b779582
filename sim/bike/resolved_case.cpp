#include "sim/bike/resolved_case.hpp"

#include "sim/bike/declare_keys.hpp"
#include "sim/bike/other_measures.hpp"
#include "sim/bike/plausibility.hpp"
#include "sim/cases/excerpt.hpp"
#include "sim/cases/schema.hpp"

namespace glassbowl::sim {
namespace {

constexpr std::size_t title_chars = 200;  // of a title, which is one line wherever it is printed

void declare_all(Keys& keys, ResolvedCase& out) {
  std::string note;
  keys.text("title", out.title, "", "what the case shows");
  keys.text("note", note, "", "what to expect");
  keys.own_flag("invented", out.invented, "false", "demonstration data, measured on no real machine");
  declare_engine(keys, out.bike.engine);
  declare_gas_path(keys, out.bike.path, out.bike.film);
  declare_fuel(keys, out.bike.fuel);
  auto& carburetor = out.bike.carburetor;
  declare_carburetor(keys, out.bike.fuel, carburetor);
  declare_vacuum_piston(keys, carburetor);
  declare_supply(keys, carburetor);
  keys.quantity("carburetor.bore_length", out.bike.path.bore_length, "mm", {20, 500}, "90 mm",
                "air horn to throttle plate");
  keys.quantity("carburetor.mixing_volume", out.bike.path.mixing_volume, "cm3", {5, 500}, "45 cm3",
                "bore between throat and throttle plate");
  declare_ride(keys, out.bike);
  declare_run(keys, out.bike.path, out.plan);
  declare_stock(keys, out.stock);
  declare_other_measures(keys, out.bike);
  out.title = clipped(out.title, title_chars);
  if (keys.sound()) warn_of_the_implausible(keys, out.bike);
}

ResolvedCase resolve(Layers layers, std::string name, const FoundValues& found) {
  ResolvedCase out;
  out.open = complete(layers, found);
  out.name = std::move(name);
  Keys keys(std::move(layers));
  declare_all(keys, out);
  keys.finish();
  out.text = keys.resolved();
  out.warnings = keys.warnings();
  out.origins = keys.origins();
  return out;
}

}  // namespace

ResolvedCase read_case(const std::filesystem::path& file, const std::vector<std::string>& sets,
                       const FoundValues& found) {
  return resolve(Layers::read(file, sets), file.stem().string(), found);
}

ResolvedCase read_case_text(std::string text, std::string name, const std::vector<std::string>& sets,
                            const FoundValues& found) {
  return resolve(Layers::parse(std::move(text), name, sets), name, found);
}

std::vector<Declaration> declared_keys() {
  ResolvedCase unused;
  Keys keys(Layers::parse("", "keys"));
  declare_all(keys, unused);
  return keys.declarations();
}

std::vector<std::pair<Declaration, std::string>> declared_defaults() {
  ResolvedCase unused;
  Keys keys(Layers::parse("", "keys"));
  declare_all(keys, unused);
  std::vector<std::pair<Declaration, std::string>> out;
  const auto origins = keys.origins();
  for (std::size_t i = 0; i < origins.size(); ++i) out.emplace_back(keys.declarations()[i], origins[i].value);
  return out;
}

std::string list_keys() {
  ResolvedCase unused;
  Keys keys(Layers::parse("", "keys"));
  declare_all(keys, unused);
  return keys.listing();
}

std::string case_schema() {
  ResolvedCase unused;
  Keys keys(Layers::parse("", "keys"));
  declare_all(keys, unused);
  return schema_of(keys.declarations(), keys.texts());
}

}  // namespace glassbowl::sim
