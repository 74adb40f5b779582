#include "sim/bike/sizes_in_stock.hpp"

#include "sim/api/error.hpp"

namespace glassbowl::sim {

void declare_stock(Keys& keys, Stock& stock) {
  constexpr std::size_t most = 120;
  const auto bores = [&](const char* path, std::vector<double>& target, const char* text) {
    keys.quantities(path, target, "mm", {0.1, 6}, most, "[]", text);
  };
  bores("stock.main_jet", stock.main_jet, "bores one can buy; none given: the common list");
  bores("stock.main_air_jet", stock.main_air_jet, "bores one can buy; none given: the common list");
  bores("stock.slow_jet", stock.slow_jet, "bores one can buy; none given: the common list");
  bores("stock.slow_air_jet", stock.slow_air_jet, "bores one can buy; none given: the common list");
  bores("stock.needle_jet", stock.needle_jet, "bores one can buy; none given: the common list");
  keys.quantities("stock.needle_raised", stock.needle_raised, "mm", {-8, 8}, most, "[]",
                  "places of the needle by clip or shim; none given: the common list");
  keys.quantity("stock.screw_step", stock.screw_step, units::one, {0.01, 2}, "0.25",
                "mixture screw: turns that count as one step");
  keys.quantity("stock.level_step", stock.level_step, "mm", {0.1, 5}, "1 mm",
                "float level: change that counts as one step");
}

Stock common_stock() {
  const auto file = shipped_cases() / "jets" / "common.toml";
  Stock stock;
  bool invented = false;
  Keys keys(Layers::read(file));
  keys.flag("invented", invented, "false", "demonstration data");
  declare_stock(keys, stock);
  keys.finish();
  return stock;
}

}  // namespace glassbowl::sim
