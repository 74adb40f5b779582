#include "sim/cli/guidance.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <CLI/CLI.hpp>
#include <string_view>
#include <vector>

#include "sim/cases/nearest_key.hpp"
#include "sim/lanes/instruction_set.hpp"
#include "sim/report/library_versions.hpp"
#include "sim/run/version.hpp"

namespace glassbowl::sim {
namespace {

constexpr std::pair<std::string_view, std::string_view> jobs[] = {
    {"Run one throttle blip and keep its trace", "glassbowl run blip"},
    {"See inside a carburetor while the engine runs", "glassbowl-view --live blip"},
    {"Check a case of your own before it runs", "glassbowl check my_bike.toml"},
    {"Search jets for a bike, from the harbour to the pass", "glassbowl jets bikes/mule_750"},
    {"Ride up a mountain with the same jets", "glassbowl altitude bikes/mule_750"},
    {"Print a tuning sheet for the workshop", "glassbowl sheet bikes/mule_750"},
};

std::string did_you_mean(const std::string& given, const std::vector<std::string>& known) {
  const std::string nearest = nearest_key(given, known);
  return nearest.empty() ? "" : fmt::format("; did you mean \"{}\"?", nearest);
}

/// Of the first option that the command does not have.
std::string nearest_option(const CLI::App& command, int argc, const char* const* argv) {
  std::vector<std::string> known;
  for (const auto* option : command.get_options())
    for (const auto& name : option->get_lnames()) known.push_back("--" + name);
  for (int i = 1; i < argc; ++i) {
    const std::string word(argv[i]), option = word.substr(0, word.find('='));
    if (!option.starts_with("--") || option.size() < 3 || command.get_option_no_throw(option) != nullptr)
      continue;
    if (const auto nearest = did_you_mean(option, known); !nearest.empty())
      return option + ":" + nearest.substr(1);
  }
  return {};
}

/// What `list` shows, as its help says it: "{bikes,runs}".
std::vector<std::string> choices_of(const CLI::Option& option) {
  const std::string text = option.get_type_name();
  std::vector<std::string> out;
  const std::size_t open = text.find('{'), close = text.find('}');
  if (open == std::string::npos || close == std::string::npos) return out;
  for (auto& choice : CLI::detail::split(text.substr(open + 1, close - open - 1), ',')) out.push_back(choice);
  return out;
}

std::string nearest_choice(const CLI::App& command, int argc, const char* const* argv) {
  for (const auto* option : command.get_options()) {
    const auto known = choices_of(*option);
    if (known.empty() || !option->get_positional()) continue;
    for (int i = 2; i < argc; ++i) {
      const std::string word = argv[i];
      if (word.starts_with("-")) continue;
      return std::find(known.begin(), known.end(), word) != known.end()
                 ? ""
                 : fmt::format("{}: choose one of {}{}", word, fmt::join(known, ", "),
                               did_you_mean(word, known));
    }
  }
  return {};
}

}  // namespace

std::string jobs_text() {
  std::string out = "glassbowl simulates the fuel circuits of a carburetor. Six jobs and their commands:\n\n";
  for (const auto& [job, command] : jobs) out += fmt::format("  {:<54}{}\n", job, command);
  return out + "\nAll commands: glassbowl --help. Shipped bikes, rides and more: glassbowl list\n";
}

std::string wrong_use_text(const CLI::App& app, int argc, const char* const* argv,
                           const std::string& problem) {
  const auto given = app.get_subcommands();
  const std::string first = argc > 1 ? argv[1] : "";
  if (given.empty() && !first.empty() && first.front() != '-') {
    std::vector<std::string> known;
    for (const auto* command : app.get_subcommands(nullptr)) known.push_back(command->get_name());
    return fmt::format("\"{}\" is no command{}; glassbowl --help lists them", first,
                       did_you_mean(first, known));
  }
  const CLI::App& command = given.empty() ? app : *given.front();
  std::string choice = nearest_choice(command, argc, argv);
  std::string text = choice.empty() ? problem : choice;
  if (const auto option = nearest_option(command, argc, argv); !option.empty()) text += "\n" + option;
  return fmt::format("{}\nTry: glassbowl {}{}--help", text, given.empty() ? "" : command.get_name(),
                     given.empty() ? "" : " ");
}

std::string version_text() {
  const auto commit = program_commit();
  std::string out = fmt::format("glassbowl {}\n", program_version());
  out += fmt::format("commit: {}\n", commit.empty() ? "unknown, not built from a git tree" : commit);
  out += fmt::format("instruction sets: {} here, {} used\n", fmt::join(instruction_sets(), ", "),
                     chosen_instruction_set());
  out += fmt::format("libraries: {}", fmt::join(library_versions(), ", "));
  return out;
}

}  // namespace glassbowl::sim
