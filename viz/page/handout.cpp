#include "viz/page/handout.hpp"

#include <fmt/format.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>
#include <SFML/Graphics/Image.hpp>

#include <array>
#include <chrono>
#include <fstream>
#include <iterator>
#include <string>
#include <thread>
#include <vector>

#include "sim/api/cases.hpp"
#include "sim/api/error.hpp"
#include "viz/export.hpp"
#include "viz/page/text.hpp"
#include "viz/panels/part_changes.hpp"
#include "viz/quiet.hpp"
#include "viz/session.hpp"

extern char** environ;

namespace glassbowl::viz {
namespace {

namespace fs = std::filesystem;

/// A temporary folder, removed at the end.
struct Workplace {
  Workplace() : folder(fs::temp_directory_path() / ("glassbowl_handout_" + std::to_string(getpid()))) {
    fs::create_directories(folder);
  }
  ~Workplace() {
    std::error_code ignored;
    fs::remove_all(folder, ignored);
  }
  Workplace(const Workplace&) = delete;
  Workplace& operator=(const Workplace&) = delete;
  fs::path folder;
};

std::unique_ptr<Session> run_lesson(const Lesson& lesson, const sf::Font& font, const fs::path& trace,
                                    const std::vector<std::string>& sets) {
  {
    sim::BackgroundRun run(lesson.case_name, trace, sets);
    while (!run.finished()) std::this_thread::sleep_for(std::chrono::milliseconds(20));
    if (const auto problem = run.problem(); !problem.empty())
      throw sim::Error(sim::ErrorKind::solver, problem);
  }
  Choice choice;
  choice.trace = trace.string();
  choice.lesson = lesson;
  return Session::open(choice, font);
}

std::string picture(Session& session, const sf::Font& font, const fs::path& folder) {
  View& view = session.view;
  view.playback.playing = false;
  view.advance(0.0);
  Canvas canvas(font);
  const sf::Image image = picture_of(view, canvas, 1600, 900);
  const fs::path file = folder / "step.png";
  {
    const Quiet quiet;
    image.saveToFile(file.string());
  }
  std::ifstream in(file, std::ios::binary);
  const std::string bytes((std::istreambuf_iterator<char>(in)), std::istreambuf_iterator<char>());
  return "<img alt=\"\" src=\"data:image/png;base64," +
         base64(std::vector<std::uint8_t>(bytes.begin(), bytes.end())) + "\">";
}

/// The answer with a blank for each number.
std::string blanks(const Lesson& lesson) {
  std::string text = escaped(lesson.answer);
  for (const auto& value : lesson.values) {
    const std::string mark = "{" + value.name + "}";
    for (std::size_t at = text.find(mark); at != std::string::npos; at = text.find(mark, at + 1))
      text.replace(at, mark.size(), "<span class=\"blank\"></span>");
  }
  return text;
}

constexpr const char* style =
    "body{font:12pt/1.4 serif;max-width:180mm;margin:auto;color:#000;background:#fff}h1{font-size:18pt}"
    "h2{font-size:13pt}img{width:100%;border:1px solid #888}figure{margin:0 0 6mm;break-inside:avoid}"
    ".blank{display:inline-block;min-width:28mm;border-bottom:1px solid #000;height:1em}"
    ".sheet,.answers{break-before:page}table{border-collapse:collapse}td,th{border:1px solid "
    "#888;padding:1mm 3mm;"
    "text-align:left}.small{font-size:9pt}";
constexpr const char* caution =
    "<p class=\"small\">Computed by glassbowl; bikes are invented. A model, not a measurement: before you "
    "change a jet, "
    "the workshop manual and local rules decide. Petrol burns, and a lean engine can seize.</p>";

void print(const fs::path& page, const fs::path& pdf) {
  std::array<std::string, 6> words{"chromium",
                                   "--headless",
                                   "--no-sandbox",
                                   "--no-pdf-header-footer",
                                   "--print-to-pdf=" + fs::absolute(pdf).string(),
                                   "file://" + fs::absolute(page).string()};
  std::vector<char*> call;
  for (auto& word : words) call.push_back(word.data());
  call.push_back(nullptr);
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  for (const int stream : {1, 2}) posix_spawn_file_actions_addopen(&actions, stream, "/dev/null", 1, 0);
  pid_t child = 0;
  const int failure = posix_spawnp(&child, "chromium", &actions, nullptr, call.data(), environ);
  posix_spawn_file_actions_destroy(&actions);
  int status = 1;
  if (failure == 0) waitpid(child, &status, 0);
  std::error_code ignored;
  if (failure != 0 || status != 0 || !fs::exists(pdf, ignored))
    throw sim::Error(
        sim::ErrorKind::file,
        pdf.string() + ": a PDF needs Debian's package chromium; an .html prints from any browser");
}

}  // namespace

void write_handout(const Lesson& lesson, const sf::Font& font, const HandoutPlan& plan) {
  std::error_code failure;
  const std::string ending = plan.target.extension().string();
  if (ending != ".html" && ending != ".pdf")
    throw sim::Error(sim::ErrorKind::input, plan.target.string() + ": the name must end in .html or .pdf");
  if (!plan.replace && fs::exists(plan.target, failure))
    throw sim::Error(sim::ErrorKind::input,
                     plan.target.string() + ": is there already; give --force or another name");
  const Workplace place;
  std::string pages, answers;
  const PartChange& jet = part_changes().front();
  double fitted = 0.0;
  for (int sheet = 0; sheet < plan.sheets; ++sheet) {
    // From three sizes smaller upward; the fitted one is among them.
    std::vector<std::string> sets;
    if (sheet > 0)
      sets.push_back(std::string(jet.key) + "=" +
                     jet.written(fitted + jet.step * (sheet <= 3 ? -sheet : sheet - 3)));
    const auto trace = place.folder / fmt::format("run_{}.h5", sheet);
    const auto session = run_lesson(lesson, font, trace, sets);
    View& view = session->view;
    const double size = jet.shown(view.first().source->geometry());
    if (sheet == 0) fitted = size;
    const std::string setting = fmt::format("main jet {:.2f} {}", size, jet.unit);
    if (sheet == 0) {
      view.print = true;
      pages += "<h1>" + escaped(lesson.title) + "</h1><p>Run: " + escaped(view.first().source->title()) +
               ", " + setting + "</p>";
      for (std::size_t step = 0; step < lesson.steps.size(); ++step) {
        view.lesson()->go_to(step, view.playback);
        view.playback.time = 0.5 * (view.lesson()->from() + view.lesson()->to());
        pages += fmt::format("<figure><h2>{}. {}</h2>", step + 1, escaped(lesson.steps[step].caption));
        pages += picture(*session, font, place.folder) + "</figure>\n";
      }
      pages += caution;
    }
    pages +=
        "<section class=\"sheet\"><h1>" + escaped(lesson.title) +
        ": question</h1><p>Name <span class=\"blank\"></span>" +
        (plan.sheets > 1 ? fmt::format("&nbsp; Sheet {} of {}: <b>{}</b>", sheet + 1, plan.sheets, setting)
                         : "") +
        "</p><p><b>" + escaped(lesson.question) + "</b></p><p>" + blanks(lesson) + "</p>" +
        (plan.sheets > 1
             ? "<p>Compute the run with <code>glassbowl run " + lesson.case_name + " --set '" + jet.key +
                   "=" + escaped(jet.written(size)) +
                   "' -o mine.h5</code> and read the numbers off. What would another jet change, and why?</p>"
                   "<p><span class=\"blank\" style=\"width:100%\"></span></p>"
                   "<p><span class=\"blank\" style=\"width:100%\"></span></p>"
             : "") +
        caution + "</section>\n";
    answers += fmt::format("<tr><td>{}</td><td>{}</td><td>{}</td></tr>\n", sheet + 1, setting,
                           escaped(view.lesson()->answer()));
  }
  const std::string page =
      "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>" + escaped(lesson.title) +
      "</title><style>" + style + "</style></head><body>" + pages + "<section class=\"answers\"><h1>" +
      escaped(lesson.title) +
      ": answers</h1><table><tr><th>sheet</th><th>setting</th><th>measured on this run</th></tr>" + answers +
      "</table></section></body></html>\n";
  const fs::path html =
      ending == ".pdf" ? place.folder / "handout.html" : fs::path(plan.target.string() + ".unfinished.html");
  write_text(html, page, plan.target);
  fs::path whole = html;
  if (ending == ".pdf") {
    whole = plan.target.string() + ".unfinished.pdf";
    print(html, whole);
  }
  fs::rename(whole, plan.target, failure);
  if (failure)
    throw sim::Error(sim::ErrorKind::file,
                     plan.target.string() + ": could not be written: " + failure.message());
}

}  // namespace glassbowl::viz
