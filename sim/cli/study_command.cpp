#include "sim/cli/study_command.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>

#include "sim/api/error.hpp"
#include "sim/api/new_file.hpp"
#include "sim/api/print_pdf.hpp"
#include "sim/cases/case_limits.hpp"
#include "sim/cases/excerpt.hpp"
#include "sim/cases/find_case.hpp"
#include "sim/cases/quantity.hpp"
#include "sim/cli/outputs.hpp"
#include "sim/cli/say.hpp"
#include "sim/cli/source.hpp"
#include "sim/cli/study_bar.hpp"
#include "sim/report/wrap_text.hpp"
#include "sim/studies/adjuster.hpp"
#include "sim/studies/drawn_bikes.hpp"
#include "sim/studies/judging.hpp"
#include "sim/studies/request_limits.hpp"
#include "sim/studies/study.hpp"
#include "sim/studies/study_json.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

/// Reads what a user names; a bike alone gets a load and a length, which studies replace anyway.
ResolvedCase read_for_study(const std::string& source, const std::vector<std::string>& sets) {
  try {
    return with_stock(read_source(source, sets));
  } catch (const Error& failure) {
    if (failure.kind() != ErrorKind::case_file) throw;
  }
  return with_stock(read_source(source, with_ride(sets)));
}

std::string trimmed(std::string text) {
  text.erase(0, text.find_first_not_of(' '));
  text.erase(text.find_last_not_of(' ') + 1);
  return text;
}

std::vector<std::string> split(const std::string& text, char mark) {
  std::vector<std::string> parts;
  std::size_t begin = 0;
  while (begin <= text.size()) {
    const std::size_t end = std::min(text.find(mark, begin), text.size());
    if (std::string part = trimmed(text.substr(begin, end - begin)); !part.empty())
      parts.push_back(std::move(part));
    begin = end + 1;
  }
  return parts;
}

/// What follows the number that `text` begins with.
std::string unit_of(const std::string& text) {
  char* end = nullptr;
  std::strtod(text.c_str(), &end);
  return trimmed(end);
}

/// Comma-separated quantities; one unit behind several numbers is that of all of them. Sorted, each once.
/// `option` names the option as given, for errors.
std::vector<double> list_of(const std::string& text, const AllowedValues& allowed,
                            const std::string& option) {
  const auto fail = [&](const std::string& what) {
    throw Error(ErrorKind::input, fmt::format("{}: {}", option, what));
  };
  auto parts = split(text, ',');
  if (parts.empty()) fail(fmt::format("no value is given; write for example \"{}\"", allowed.example));
  std::string unit;
  for (auto part = parts.rbegin(); part != parts.rend(); ++part)
    if (const auto own = unit_of(*part); !own.empty())
      unit = own;
    else if (!unit.empty())
      *part += " " + unit;
  std::vector<double> out;
  for (const auto& part : parts) {
    const bool bare = part.find_first_not_of("+-.0123456789eE") == std::string::npos;
    // A bare number gets the usual unit in the example, if it would do with that.
    const std::string with_unit = fmt::format("{} {}", part, allowed.unit);
    const auto so_read = bare ? read_quantity(with_unit, allowed.unit) : QuantityReading{};
    const bool would_do =
        bare && so_read.wrong.empty() && so_read.si >= allowed.low && so_read.si <= allowed.high;
    const auto read = read_quantity(part, allowed.unit, would_do ? with_unit : allowed.example);
    if (!read.wrong.empty())
      fail(fmt::format("\"{}\" {}; {}{}", part, read.wrong, read.remedy,
                       bare && !would_do && allowed.is_bore
                           ? ". The number on a jet is no bore by itself: 150 can stand for 1.50 mm or for a "
                             "flow in cm3/min; ask its maker or measure it"
                           : ""));
    out.push_back(read.si);
  }
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

/// The same for an option that has usual values where it is not given: an empty list stands for them.
std::vector<double> list_of(const std::optional<std::string>& given, const AllowedValues& allowed) {
  if (!given) return {};
  return list_of(*given, allowed, fmt::format("{} \"{}\"", allowed.option, *given));
}

std::pair<std::string, std::string> halves(const std::string& text, char mark, const char* what,
                                           const char* example) {
  const std::size_t at = text.find(mark);
  if (at == std::string::npos || at == 0)
    throw Error(ErrorKind::input,
                fmt::format("--{} \"{}\": write for example --{} \"{}\"", what, text, what, example));
  return {trimmed(text.substr(0, at)), trimmed(text.substr(at + 1))};
}

StudyRequest request_of(const StudyOptions& o, const ResolvedCase& resolved) {
  StudyRequest r;
  r.study = o.study;
  r.speeds = list_of(o.speeds, allowed_speeds);
  r.openings = list_of(o.openings, allowed_openings);
  r.altitudes = list_of(o.altitudes, allowed_altitudes);
  r.warmer = list_of(o.warmer, allowed_warmer);
  for (const auto& text : o.variants) {
    const auto [name, sets] = halves(text, ':', "variant", "no pump: carburetor.pump.fitted=false");
    r.variants.push_back({clipped(name, limits::excerpt_chars), split(sets, ';')});
  }
  for (const auto& text : o.tries) {
    const auto [id, sizes] = halves(text, '=', "try", "main_jet=1.65 mm, 1.70 mm");
    r.tries[id] = list_of(sizes, allowed_tries(id, resolved), fmt::format("--try \"{}\"", text));
  }
  for (const auto& text : o.targets) {
    const auto [region, given] = halves(text, '=', "target", "full=0.87");
    const std::string option = fmt::format("--target \"{}\"", text);
    const auto value = list_of(given, allowed_targets(region), option);
    if (value.size() != 1)
      throw Error(ErrorKind::input,
                  fmt::format("{}: one lambda or air-fuel ratio is needed, such as \"full=0.87\" "
                              "or \"full=12.8:1\"",
                              option));
    // "13:1" is parts of air to one of fuel by mass, a number alone lambda.
    const double stoichiometric = resolved.bike.fuel.stoichiometric_ratio;
    const bool is_ratio = given.find(':') != std::string::npos;
    const double lambda = is_ratio ? value.front() / stoichiometric : value.front();
    const AllowedValues allowed = allowed_targets(region);
    if (usual_targets().contains(region) && !(lambda >= allowed.low && lambda <= allowed.high))
      throw Error(
          ErrorKind::input,
          fmt::format("{}: this is lambda {:.3g}, outside {:.3g} to {:.3g}. Give lambda, such as "
                      "\"{}=0.87\", or the air-fuel ratio by mass, such as \"{}={:.3g}:1\" (lambda 1 is "
                      "{:.4g}:1 with this fuel)",
                      option, lambda, allowed.low, allowed.high, region, region, 0.87 * stoichiometric,
                      stoichiometric));
    r.targets[region] = lambda;
  }
  r.change = o.change;
  const bool draws = o.study == "jets" || o.study == "sheet" || o.study == "altitude";
  r.bikes = o.uncertain.value_or(draws ? usual_bikes : 0);
  if (o.lean_risk) {
    const auto risk =
        list_of(*o.lean_risk, allowed_lean_risk, fmt::format("--lean-risk \"{}\"", *o.lean_risk));
    if (risk.size() != 1)
      throw Error(ErrorKind::input,
                  fmt::format("--lean-risk \"{}\": one probability is needed", *o.lean_risk));
    r.lean_risk = risk.front();
  }
  if (!o.beside.empty()) {
    const ResolvedCase second = read_for_study(o.beside, o.sets);
    r.beside = second.text;
    r.beside_name = second.name;
  }
  return r;
}

/// What newcomers try first: the case in place of its study.
void refuse_what_is_no_study(const std::string& given) {
  std::error_code ignored;
  const bool exists = fs::exists(given, ignored);
  if (exists && is_trace(given)) return;  // HDF5; whether there is a study in it, its reader says
  fs::path file = given;
  if (!exists) try {
      file = find_case(given);
    } catch (const Error&) {
      return;  // there is no such file, as its reader says
    }
  const bool named_as_case = file.extension() == ".toml";
  throw Error(
      ErrorKind::input,
      fmt::format("{}: this is {}, not a study; {}", given, named_as_case ? "a case" : "no HDF5 file",
                  named_as_case
                      ? fmt::format("`glassbowl map {0}` makes a study of it, and `glassbowl run {0}` runs "
                                    "it if it has a ride",
                                    given)
                      : "`glassbowl map CASE` and its like write studies, NAME-map.h5 by default"));
}

void print_answer(const StudyResult& result) {
  for (const auto* text : {&result.verdict, &result.caution})
    if (!text->empty()) say("{}\n", wrapped(*text));
  say("{}{}", wrapped(result.answer), result.table);
}

std::vector<fs::path> write_charts(const StudyResult& result, const fs::path& base, bool force) {
  std::vector<fs::path> out;
  for (const auto& chart : result.charts)
    for (auto& path : write_chart(chart, base, force)) out.push_back(std::move(path));
  return out;
}

/// Page and charts of a study; what was written.
struct WrittenFiles {
  std::vector<fs::path> pages, charts;
};

WrittenFiles write_others(StudyResult& result, const StudyOutputs& outputs, const StudyOptions& o) {
  WrittenFiles out;
  if (result.sheet) {
    if (o.no_charts) result.sheet->charts.clear();
    const std::string page = tuning_sheet_html(*result.sheet);
    write_new_file(outputs.page, o.force, page);
    out.pages.push_back(outputs.page);
    if (o.pdf) {
      print_pdf(page, outputs.pdf, o.force);
      out.pages.push_back(outputs.pdf);
    }
  }
  if (!o.no_charts) out.charts = write_charts(result, outputs.base, o.force);
  return out;
}

void print_list(const char* head, const std::vector<fs::path>& files) {
  std::string list;
  for (const auto& file : files) list += fmt::format("  {}\n", file.string());
  if (!list.empty()) say("\n{}\n{}", head, list);
}

/// One object on stdout and nothing else; what warns goes to stderr, too.
void print_json(const StudyResult& result, const StudyRequest& request, const fs::path& output,
                const WrittenFiles& others) {
  std::vector<std::string> files{output.string()};
  for (const auto* list : {&others.pages, &others.charts})
    for (const auto& file : *list) files.push_back(file.string());
  if (!result.caution.empty()) say_to(stderr, "{}\n", wrapped(result.caution));
  const std::string json = study_json(result, request, files);
  std::fwrite(json.data(), 1, json.size(), stdout);
}

}  // namespace

void declare_studies(CLI::App& app, StudyOptions& o, const char* footer) {
  const auto declare = [&](const char* name, const char* text) {
    auto* sub = app.add_subcommand(name, text);
    sub->callback([&o, name] { o.study = name; });
    sub->add_option("-o,--output", o.output, "study to write (HDF5); charts go beside it");
    sub->add_option("--threads", o.threads, "points computed at a time; default: one per core")
        ->check(CLI::Range(0, 256));
    sub->add_flag("--no-charts", o.no_charts, "draw none");
    sub->add_flag("--force", o.force, "replace a study that is there already");
    sub->add_flag("--json", o.json, "print one JSON object with the figures, and nothing else");
    sub->footer(footer);
    return sub;
  };
  const auto of_case = [&](CLI::App* sub) {
    sub->add_option("CASE", o.source, "case file, shipped bike or run, or trace")->required();
    sub->add_option("--set", o.sets, "replace one value of the case; repeatable")
        ->type_name("KEY=VALUE")
        ->allow_extra_args(false);
    return sub;
  };
  const auto over_grid = [&](CLI::App* sub) {
    of_case(sub);
    sub->add_option("--speeds", o.speeds, "held speeds, such as \"2000, 4000 rpm\"");
    sub->add_option("--openings", o.openings, "throttle openings, such as \"5, 20, 100 %\"");
    sub->add_option("--altitudes", o.altitudes, "altitudes, such as \"0, 1200, 2700 m\"");
    return sub;
  };
  const auto with_spreads = [&](CLI::App* sub, bool usual) {
    sub->add_option(
           "--uncertain", o.uncertain,
           fmt::format("bikes drawn from the spreads of all sizes, for ranges and probabilities; 0 takes "
                       "sizes as exact; default: {}",
                       usual ? usual_bikes : 0))
        ->type_name("BIKES");
  };
  const char* const warmer_help =
      "air warmer than the standard day by, such as \"-20, 0, 15 K\"; replaces the case's air.temperature";
  auto* map = over_grid(declare("map", "Mixture, shares and torque over speed and throttle"));
  map->add_option("--warmer", o.warmer, warmer_help);
  with_spreads(map, false);
  over_grid(declare("overlap", "Which circuit feeds at which opening, and what each jet changes where"));
  auto* blips = of_case(declare("blips", "Throttle blip with variants of pump, piston or level, overlaid"));
  blips->add_option("--variant", o.variants, "\"NAME: KEY=VALUE; KEY=VALUE\"; repeatable")
      ->type_name("TEXT")
      ->allow_extra_args(false);
  auto* altitude =
      over_grid(declare("altitude", "The same jets from the harbour to the pass, and down again"));
  altitude->add_option("--beside", o.beside, "second case, such as the other type of carburetor");
  with_spreads(altitude, true);
  for (const auto& [name, text] :
       {std::pair{"jets", "Search jets one can buy for a lambda target, over a route"},
        std::pair{"sheet", "Search jets and print a tuning sheet (HTML)"}}) {
    auto* sub = over_grid(declare(name, text));
    sub->add_option("--warmer", o.warmer, warmer_help);
    sub->add_option("--try", o.tries, "sizes to try, such as \"main_jet=1.65, 1.70 mm\"; repeatable")
        ->type_name("NAME=SIZES")
        ->allow_extra_args(false);
    sub->add_option("--target", o.targets,
                    "target in a region (small, part or full): lambda, such as full=0.87, or air-fuel ratio, "
                    "such as full=12.8:1; repeatable")
        ->type_name("REGION=TARGET")
        ->allow_extra_args(false);
    with_spreads(sub, true);
    sub->add_option("--lean-risk", o.lean_risk,
                    "accepted probability of being beyond the lean limit; default: \"2 %\"");
    if (std::string(name) == "jets")
      sub->add_option("--after", o.change, "engine change: search again with KEY=VALUE; repeatable")
          ->type_name("KEY=VALUE")
          ->allow_extra_args(false);
    else
      sub->add_flag("--pdf", o.pdf, "print the sheet to a PDF file, too (needs chromium)");
  }
  auto* compare = over_grid(declare("compare", "Two carburetors over map, blip and altitude"));
  compare->add_option("BESIDE", o.beside, "second case file, shipped bike or run, or trace")->required();
  declare("repeat", "Compute a study again from its own file")
      ->add_option("STUDY", o.source, "study (HDF5)")
      ->required();
}

int study_command(const StudyOptions& o, const std::atomic<bool>& stop) {
  ResolvedCase resolved;
  StudyRequest request;
  if (o.study == "repeat") {
    refuse_what_is_no_study(o.source);
    const ResultFile file = read_result_file(o.source);
    try {
      request = request_from_json(file.inputs);
    } catch (const Error& failure) {
      throw Error(failure.kind(), fmt::format("{}: {}", o.source, failure.what()));
    }
    resolved = read_stored_case(file.case_resolved, o.source, file.version, {});
    resolved.text = file.case_resolved;  // comments on sources and all, as it was
    try {
      check_request(request, resolved);
    } catch (const Error& failure) {
      throw Error(failure.kind(),
                  fmt::format("{}: what it asks for cannot be repeated: {}", o.source, failure.what()));
    }
  } else {
    resolved = read_for_study(o.source, o.sets);
    request = request_of(o, resolved);
    check_request(request, resolved);
  }
  const fs::path output = !o.output.empty() ? fs::path(o.output)
                          : o.study == "repeat"
                              ? fs::path(fmt::format("{}-again.h5", resolved.name))
                              : fs::path(fmt::format("{}-{}.h5", resolved.name, request.study));
  const StudyOutputs outputs = study_outputs(output);
  auto inputs = o.study == "repeat" ? std::vector<fs::path>{o.source} : files_of(o.source);
  if (!o.beside.empty())
    for (const auto& file : files_of(o.beside)) inputs.push_back(file);
  refuse_own_input({output, outputs.points, outputs.page, outputs.pdf}, inputs);
  check_study_outputs(outputs, request.study, !o.no_charts, o.pdf, o.force);
  if (o.pdf) require_printer();
  if (!o.no_charts) require_plotter();

  PointJournal journal(outputs.points);
  StudyResult result;
  try {
    StudyBar bar;
    PointScheduler scheduler(&journal, o.threads, &stop,
                             [&](std::size_t done, std::size_t of) { bar.show(done, of); });
    result = run_study(resolved, request, scheduler);
  } catch (const StudyInterrupted&) {
    say_to(
        stderr,
        "glassbowl: interrupted; {} finished points are kept in {}.\nThe same command goes on from there.\n",
        journal.size(), journal.path().string());
    return 1;
  } catch (const Error&) {
    if (journal.size() == 0) journal.discard();
    throw;
  }
  try {
    write_result_file(output, o.force, result.file);
  } catch (const Error& failure) {
    throw Error(failure.kind(),
                fmt::format("{}\nThe finished points are kept in {}. The same command goes on "
                            "from there",
                            failure.what(), journal.path().string()));
  }
  const std::size_t others = journal.unused();
  if (others == 0) journal.discard();
  if (o.json) {
    print_json(result, request, output, write_others(result, outputs, o));
    return 0;
  }
  print_answer(result);
  say("\nStudy\n  {}\n", output.string());
  if (others > 0)
    say("  {} of another request {} in {}; delete the file if that study is not to be finished.\n",
        others == 1 ? "1 finished point" : fmt::format("{} finished points", others),
        others == 1 ? "stays" : "stay", journal.path().string());
  const WrittenFiles written = write_others(result, outputs, o);
  print_list("Tuning sheet", written.pages);
  print_list("Charts", written.charts);
  return 0;
}

}  // namespace glassbowl::sim
