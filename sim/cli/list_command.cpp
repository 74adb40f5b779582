#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <sstream>
#include <string_view>

#include "sim/api/error.hpp"
#include "sim/cases/find_case.hpp"
#include "sim/cli/commands.hpp"
#include "sim/cli/say.hpp"
#include "sim/cli/source.hpp"
#include "sim/report/wrap_text.hpp"
#include "sim/run/channels.hpp"

namespace glassbowl::sim {
namespace {

constexpr std::array<std::string_view, 5> folders{"bikes", "carburetors", "engines", "fuels", "runs"};

/// Names as other commands take them: runs by their name alone, all else with its folder.
void list_folder(const std::string& folder) {
  const auto files = shipped_files(folder);
  const std::string before = folder == "runs" ? "" : folder + "/";
  say("{}\n", folder);
  std::size_t width = 16;
  for (const auto& file : files) width = std::max(width, before.size() + file.name.size());
  const std::string under(width + 4, ' ');
  for (const auto& file : files)
    say("{}", wrapped(file.title, fmt::format("  {:<{}}  ", before + file.name, width), under + "  "));
  if (files.empty()) say("  none found\n");
}

/// A bike with everything fitted, for the names of all channels there can be.
Bike<double> bike_with_everything() {
  Bike<double> bike;
  bike.engine.firing = {0.0, 1.0};
  bike.carburetor.kind = CarburetorKind::constant_depression;
  bike.carburetor.pump.fitted = true;
  bike.carburetor.enrichment.fitted = true;
  bike.carburetor.ports.resize(2);
  return bike;
}

void list_channels(std::string_view head, const std::vector<Channel>& channels) {
  say("{}\n", head);
  std::size_t name = 0, unit = 0;
  for (const auto& c : channels) {
    name = std::max(name, c.name.size());
    unit = std::max(unit, c.unit.size());
  }
  for (const auto& c : channels)
    say("{}", wrapped(fmt::format("{} ({})", c.long_name, c.part),
                      fmt::format("  {:<{}}  {:<{}}  ", c.name, name, c.unit, unit),
                      std::string(name + unit + 8, ' ')));
}

void list_channels(const std::string& source) {
  ChannelList channels;
  if (source.empty()) {
    say("Channels of a twin with everything fitted. Numbered ones are there once per cylinder or\n"
        "transfer port. The channels of one case: glassbowl list channels CASE\n\n");
    channels = all_channels(bike_with_everything());
  } else {
    channels = all_channels(read_source(source, {}).bike);
  }
  list_channels("along time", channels.time);
  say("\n");
  list_channels("along cycle", channels.cycle);
}

/// All keys as a case, whose comments are wrapped.
void list_every_key() {
  std::istringstream keys(list_keys());
  for (std::string line; std::getline(keys, line);)
    say("{}", line.starts_with("# ") ? wrapped(line.substr(2), "# ", "#   ") : line + "\n");
}

}  // namespace

int list_command(const ListOptions& options) {
  if (options.schema && options.what != "keys")
    throw Error(ErrorKind::input, "--schema is for keys: glassbowl list keys --schema");
  if (options.schema) {
    say("{}", case_schema());
  } else if (options.what == "keys") {
    list_every_key();
  } else if (options.what == "channels") {
    list_channels(options.source);
  } else if (!options.what.empty()) {
    list_folder(options.what);
  } else {
    for (const auto folder : folders) {
      list_folder(std::string(folder));
      say("\n");
    }
    list_channels("");
    say("\nEvery key of a case, with meaning, range and default: glassbowl list keys\n");
  }
  return 0;
}

}  // namespace glassbowl::sim
