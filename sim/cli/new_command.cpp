#include <fmt/format.h>
#include <unistd.h>

#include <filesystem>
#include <iostream>

#include "sim/api/error.hpp"
#include "sim/api/new_file.hpp"
#include "sim/bike/provenance.hpp"
#include "sim/cases/case_limits.hpp"
#include "sim/cases/find_case.hpp"
#include "sim/cases/input_file.hpp"
#include "sim/cases/layer.hpp"
#include "sim/cli/commands.hpp"
#include "sim/cli/outputs.hpp"
#include "sim/cli/say.hpp"
#include "sim/cli/source.hpp"
#include "sim/interview/interview.hpp"
#include "sim/report/case_values.hpp"
#include "sim/report/wrap_text.hpp"
#include "sim/studies/alarm.hpp"
#include "sim/studies/idle_setting.hpp"
#include "sim/studies/measuring.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

constexpr double most_seconds = 60.0;  // [s] of computation for what to measure next

std::string read_whole(const fs::path& file) {
  return InputFile(file, file.string(), "give a file of answers").read(limits::file_bytes);
}

/// The case: what is the user's own of a sound description, with its meanings, by section.
std::string case_text(const ResolvedCase& resolved, const KnownValues& given, const toml::node* base,
                      const std::string& file) {
  std::string top = fmt::format(
      "# Described with `glassbowl new`: own values only. All else is estimated from them, or a default:\n"
      "# `glassbowl check {0}` lists every value with its rule, `glassbowl measure {0}` prints what to\n"
      "# measure next. Put what you measure here, and it counts in place of its estimate.\n",
      file);
  if (base != nullptr) top += fmt::format("base = {}\n", write_value(*base));
  top += "estimate = true\n";
  std::string sections, section;
  for (const Origin& origin : resolved.origins) {
    if (!given.gives(origin.path) || origin.kind != Origin::Kind::own || origin.path == "estimate") continue;
    const std::size_t dot = origin.path.rfind('.');
    const std::string name = origin.path.substr(dot == std::string::npos ? 0 : dot + 1);
    const std::string line = fmt::format("{} = {}  # {}\n", name, origin.value, origin.meaning);
    if (dot == std::string::npos) {
      top += line;
      continue;
    }
    if (origin.path.substr(0, dot) != section) {
      section = origin.path.substr(0, dot);
      sections += fmt::format("\n[{}]\n", section);
    }
    sections += line;
  }
  return top + sections;
}

/// Finds the targets, and says what was found and what to measure next.
int tell_what_follows(const fs::path& file) {
  ResolvedCase resolved;
  try {
    resolved = read_case_with_targets(file, with_ride({}));
  } catch (const Error& failure) {
    throw Error(ErrorKind::solver, fmt::format("{} is written, but {}", file.string(), failure.what()));
  }
  for (const Origin& origin : resolved.origins)
    if (origin.source.starts_with("found for"))
      say("{}", wrapped(fmt::format("{} = {}, {}.\n", origin.path, plain_value(origin), origin.source)));
  say("{}", wrapped("Values of the machine: " + provenance_text(resolved) + ".\n"));
  for (const auto& warning : resolved.warnings) say("{}", wrapped("Warning: " + warning + "\n"));
  say("\n");
  std::fflush(stdout);
  Alarm alarm(most_seconds);
  try {
    PointScheduler scheduler(nullptr, 0, &alarm.stop());
    const WhatToMeasure found = find_what_to_measure(resolved, scheduler);
    say("Measure next, what sharpens lambda most first. Now lambda is known within +- {:.2f} (95 %).\n{}",
        found.range_now, wrapped(what_to_measure_text(found, 5)));
  } catch (const StudyInterrupted&) {
    say("What to measure next takes longer than {:.0f} s to compute here.\n", most_seconds);
  }
  say("\nNext: glassbowl check {0}, glassbowl measure {0}, glassbowl map {0}\n", file.string());
  return 0;
}

int write_case(const NewOptions& o, const ResolvedCase& resolved, const Layers& layers) {
  const fs::path out(o.output);
  const KnownValues given(layers);
  const toml::node* base = nullptr;
  for (const Layer& layer : layers.all())
    if (layer.is_main) base = layer.table.get("base");
  write_new_file(out, o.force, case_text(resolved, given, base, out.filename().string()));
  say("{}\n", out.string());
  std::fflush(stdout);
  return o.no_computation ? 0 : tell_what_follows(out);
}

std::vector<std::string> asking_for_estimates(const std::vector<std::string>& sets) {
  std::vector<std::string> out = with_ride({"estimate=true"});
  out.insert(out.end(), sets.begin(), sets.end());
  return out;
}

/// Without questions: every wrong answer is one message of the error thrown.
int from_answers(const NewOptions& o) {
  const auto sets = asking_for_estimates(o.sets);
  if (o.answers.empty())
    return write_case(o, read_case_text("", "--set", sets), Layers::parse("", "--set", o.sets));
  const fs::path file = find_case(o.answers);
  refuse_own_input({fs::path(o.output)}, {file});
  return write_case(o, read_case(file, sets), Layers::read(file, o.sets));
}

int by_interview(const NewOptions& o) {
  const fs::path kept = o.output + ".answers";
  Interview interview;
  std::error_code ignored;
  say("{}",
      wrapped(
          "Answer in the unit shown, or with your own (mm, 1 3/32 in, cc). Enter, or \"don't know\": "
          "something is assumed, and you see what and why. \"back\" asks the last one again, \"stop\" ends "
          "for today. The workshop manual comes first; keep flames away from fuel.\n"));
  if (fs::exists(kept, ignored)) {
    interview = Interview::read(read_whole(kept), kept.string());
    say("{}", wrapped(fmt::format("Going on with {} answers kept in {}; delete that file to begin again.\n",
                                  interview.answers.size(), kept.string())));
  }
  const auto print = [](const std::string& text) {
    say("{}", text);
    std::fflush(stdout);
  };
  const auto keep = [&](const Interview& now) { write_new_file(kept, true, now.text()); };
  if (!hold_interview(interview, std::cin, print, keep)) {
    say("\n");
    say_to(stderr, "glassbowl: {}\n",
           interview.answers.empty() && interview.unknown.empty()
               ? "the interview ended before its first answer; nothing is written"
               : fmt::format(
                     "the interview is not finished; its answers are kept in {0}.\nThe same command goes "
                     "on from there: glassbowl new {1}",
                     kept.string(), o.output));
    return 1;
  }
  say("\n");
  const std::string text = interview.text();
  const int code = write_case(o, read_case_text(text, "answers", asking_for_estimates({})),
                              Layers::parse(text, "answers"));
  fs::remove(kept, ignored);
  return code;
}

}  // namespace

int new_command(const NewOptions& o) {
  if (fs::path(o.output).extension() != ".toml")
    throw Error(ErrorKind::input,
                fmt::format("{}: a case is a .toml file; write for example {}.toml", o.output, o.output));
  check_output(o.output, o.force);
  return o.answers.empty() && o.sets.empty() ? by_interview(o) : from_answers(o);
}

}  // namespace glassbowl::sim
