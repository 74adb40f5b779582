#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <atomic>
#include <csignal>
#include <cstdio>
#include <exception>
#include <new>
#include <string>

#include "sim/api/error.hpp"
#include "sim/api/standard_streams.hpp"
#include "sim/cli/commands.hpp"
#include "sim/cli/guidance.hpp"
#include "sim/cli/help_format.hpp"
#include "sim/cli/repeated_options.hpp"
#include "sim/cli/say.hpp"
#include "sim/cli/study_command.hpp"

namespace {

namespace sim = glassbowl::sim;

constexpr int failed = 1, wrong_use = 2;

const char* const about =
    "Simulates the fuel circuits of a carburetor against the intake pulses of its engine.\n";
const char* const caution =
    "Caution: petrol vapour burns and explodes; work on fuel systems away from flames and hot parts,\n"
    "with an extinguisher at hand. A running engine maims hands and its exhaust poisons closed rooms.\n"
    "A mixture set too lean overheats and seizes pistons. What this program computes is a model: the\n"
    "workshop manual, the rules that hold where you are for carburetors under emission law, and\n"
    "licensed practice come first.";

std::atomic<bool> stop{false};
static_assert(std::atomic<bool>::is_always_lock_free, "a signal handler may set it");

extern "C" void on_signal(int signal) {
  stop.store(true);
  std::signal(signal, SIG_DFL);  // asked twice, end at once
}

int complain(const std::string& message, int code) {
  std::fflush(stdout);
  sim::say_to(stderr, "glassbowl: {}\n", message);
  return code;
}

int dispatch(int argc, char** argv) {
  CLI::App app(about, "glassbowl");
  app.formatter(sim::help_format());
  app.footer(caution);
  app.set_version_flag("--version", sim::version_text);
  app.require_subcommand(1);
  const char* const source_help = "case file, name of a shipped run, or trace to run again";
  const char* const set_help =
      "replace one value of the case, such as carburetor.main.jet.bore=\"1.3 mm\"; repeatable";

  sim::RunOptions run;
  auto* run_app = app.add_subcommand("run", "Run a case: writes a trace and prints a summary");
  run_app->add_option("CASE", run.source, source_help)->required();
  run_app->add_option("-o,--output", run.output, "trace to write; default: name of the case with .h5, here");
  run_app->add_option("--set", run.sets, set_help)->type_name("KEY=VALUE")->allow_extra_args(false);
  run_app->add_option("--csv", run.csv, "also write the cycle-averaged channels as comma-separated text");
  run_app->add_flag("--json", run.json, "print the summary as one JSON object");
  run_app->add_flag("--no-trace", run.no_trace, "keep no trace");
  run_app->add_flag("--force", run.force, "replace files that are there already");
  run_app->add_flag("--no-sensitivity", run.no_sensitivity,
                    "do not compute which borrowed and default values move lambda most");

  sim::CheckOptions check;
  auto* check_app = app.add_subcommand(
      "check",
      "Read and check a case, print it whole, and say which values that are not its own move "
      "lambda most");
  check_app->add_option("CASE", check.source, source_help)->required();
  check_app->add_option("--set", check.sets, set_help)->type_name("KEY=VALUE")->allow_extra_args(false);
  check_app->add_flag("--no-computation", check.no_computation, "only read and check, compute nothing");
  check_app->add_flag("--every-value", check.every_value,
                      "examine every borrowed and default value, which takes up to a minute or so");

  check_app->add_flag("--json", check.json,
                      "print each value with its origin and spread as one JSON object; targets are found, "
                      "nothing else is computed");

  sim::NewOptions fresh;
  auto* new_app = app.add_subcommand(
      "new",
      "Describe a bike: asks for what a workshop can measure, says what it assumes for the rest, and writes "
      "a case.\nSuch a case has estimate = true: what it does not give is estimated from what it gives, by "
      "the rules that `glassbowl check` shows. idle_speed and best_idle in place of an idle stop and the "
      "screw's turns are found by computation");
  new_app->add_option("OUT", fresh.output, "case to write, such as my_bike.toml")->required();
  new_app->add_option("--answers", fresh.answers,
                      "take the answers from this file, in the form of a case, and ask nothing");
  new_app
      ->add_option("--set", fresh.sets,
                   "one answer, such as engine.bore=\"82 mm\", and ask nothing; repeatable")
      ->type_name("KEY=VALUE")
      ->allow_extra_args(false);
  new_app->add_flag("--force", fresh.force, "replace a case that is there already");
  new_app->add_flag("--no-computation", fresh.no_computation,
                    "only write the case: do not find its targets or what to measure next");
  sim::MeasureOptions measure;
  auto* measure_app = app.add_subcommand(
      "measure", "Print a sheet of what to measure (HTML), the sizes first that would sharpen lambda most");
  measure_app->add_option("CASE", measure.source, source_help)->required();
  measure_app->add_option("--set", measure.sets, set_help)->type_name("KEY=VALUE")->allow_extra_args(false);
  measure_app->add_option("-o,--output", measure.output, "page to write; default: NAME-measure.html, here");
  measure_app->add_option("--threads", measure.threads, "points computed at a time; default: one per core")
      ->check(CLI::Range(0, 256));
  measure_app->add_flag("--pdf", measure.pdf, "print it to a PDF file, too (needs chromium)");
  measure_app->add_flag("--force", measure.force, "replace files that are there already");

  sim::ListOptions list;
  auto* list_app = app.add_subcommand("list", "List what comes with the program");
  list_app->add_option("WHAT", list.what, "which list; default: all but keys")
      ->check(CLI::IsMember({"bikes", "carburetors", "engines", "fuels", "runs", "channels", "keys"}));
  list_app->add_option("CASE", list.source, "with channels: those of this case");
  list_app->add_flag(
      "--schema", list.schema,
      "with keys: print a JSON Schema (draft 2020-12), by which editors complete and check cases");
  sim::VerifyOptions verify;
  auto* verify_app = app.add_subcommand(
      "verify", "Compare the program with published tables, papers and examples; takes about a minute");
  verify_app->add_flag("--all", verify.all, "print a row for each comparison, with source and tolerance");
  verify_app->add_flag("--json", verify.json, "print the comparisons as a JSON array");
  for (auto* sub : {run_app, check_app, new_app, measure_app, list_app, verify_app}) sub->footer(caution);
  sim::StudyOptions study;
  sim::declare_studies(app, study, caution);

  if (argc < 2) {
    sim::say("{}\n{}\n", sim::jobs_text(), caution);
    return 0;
  }
  try {
    app.parse(sim::with_option_repeated(argc, argv));
  } catch (const CLI::Success& wanted) {  // help or version
    return app.exit(wanted);
  } catch (const CLI::ParseError& error) {
    return complain(sim::wrong_use_text(app, argc, argv, error.what()), wrong_use);
  }
  if (*run_app) {
    std::signal(SIGINT, on_signal);
    std::signal(SIGTERM, on_signal);
    return sim::run_command(run, stop);
  }
  if (!study.study.empty()) {
    std::signal(SIGINT, on_signal);
    std::signal(SIGTERM, on_signal);
    return sim::study_command(study, stop);
  }
  if (*new_app) return sim::new_command(fresh);
  if (*measure_app) {
    std::signal(SIGINT, on_signal);
    std::signal(SIGTERM, on_signal);
    return sim::measure_command(measure, stop);
  }
  if (*verify_app) return sim::verify_command(verify);
  return *check_app ? sim::check_command(check) : sim::list_command(list);
}

}  // namespace

int main(int argc, char** argv) {
  const char* const unheard = "cannot write to standard output; what was to be printed is lost";
  sim::hold_standard_streams();
  try {
    const int code = dispatch(argc, argv);
    if ((std::fflush(stdout) != 0 || std::ferror(stdout) != 0) && code == 0) return complain(unheard, failed);
    return code;
  } catch (const sim::Error& error) {
    return complain(error.what(), error.exit_code());
  } catch (const std::bad_alloc&) {
    return complain("there is not enough memory for this", failed);
  } catch (const std::exception& error) {
    if (std::ferror(stdout) != 0) return complain(unheard, failed);
    return complain(fmt::format("internal fault: {}", error.what()), failed);
  }
}
