#include "sim/bike/resolved_case.hpp"

#include "sim/bike/declare_keys.hpp"
#include "sim/bike/plausibility.hpp"
#include "sim/cases/excerpt.hpp"

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
  out.title = clipped(out.title, title_chars);
  if (keys.sound()) warn_of_the_implausible(keys, out.bike);
}

ResolvedCase resolve(Layers layers, std::string name) {
  ResolvedCase out;
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

ResolvedCase read_case(const std::filesystem::path& file, const std::vector<std::string>& sets) {
  return resolve(Layers::read(file, sets), file.stem().string());
}

ResolvedCase read_case_text(std::string text, std::string name, const std::vector<std::string>& sets) {
  return resolve(Layers::parse(std::move(text), name, sets), name);
}

std::vector<Declaration> declared_keys() {
  ResolvedCase unused;
  Keys keys(Layers::parse("", "keys"));
  declare_all(keys, unused);
  return keys.declarations();
}

std::string list_keys() {
  ResolvedCase unused;
  Keys keys(Layers::parse("", "keys"));
  declare_all(keys, unused);
  return keys.listing();
}

}  // namespace glassbowl::sim
