#include "viz/page/handout.hpp"

#include <fmt/format.h>
#include <SFML/Graphics/Image.hpp>

#include <chrono>
#include <string>
#include <thread>
#include <vector>

#include "sim/api/error.hpp"
#include "sim/api/new_file.hpp"
#include "sim/api/own_folder.hpp"
#include "sim/api/print_pdf.hpp"
#include "sim/api/run.hpp"
#include "viz/export.hpp"
#include "viz/page/text.hpp"
#include "viz/panels/part_changes.hpp"
#include "viz/png.hpp"
#include "viz/session.hpp"

namespace glassbowl::viz {
namespace {

namespace fs = std::filesystem;

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

std::string picture(Session& session, const sf::Font& font) {
  View& view = session.view;
  view.playback.playing = false;
  view.advance(0.0);
  Canvas canvas(font);
  return "<img alt=\"\" src=\"data:image/png;base64," + base64(png_of(picture_of(view, canvas, 1600, 900))) +
         "\">";
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

}  // namespace

void write_handout(const Lesson& lesson, const sf::Font& font, const HandoutPlan& plan) {
  const std::string ending = plan.target.extension().string();
  if (ending != ".html" && ending != ".pdf")
    throw sim::Error(sim::ErrorKind::input, plan.target.string() + ": the name must end in .html or .pdf");
  sim::check_output(plan.target, plan.replace);
  if (ending == ".pdf") sim::require_printer();
  const sim::OwnFolder folder;
  std::string pages, answers;
  const PartChange& jet = part_changes().front();
  double fitted = 0.0;
  for (int sheet = 0; sheet < plan.sheets; ++sheet) {
    // From three sizes smaller upward; the fitted one is among them.
    std::vector<std::string> sets;
    if (sheet > 0)
      sets.push_back(std::string(jet.key) + "=" +
                     jet.written(fitted + jet.step * (sheet <= 3 ? -sheet : sheet - 3)));
    const auto trace = folder / fmt::format("run_{}.h5", sheet);
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
        pages += picture(*session, font) + "</figure>\n";
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
  if (ending == ".pdf")
    sim::print_pdf(page, plan.target, plan.replace);
  else
    sim::write_new_file(plan.target, plan.replace, page);
}

}  // namespace glassbowl::viz
