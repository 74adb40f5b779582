#include "sim/interview/interview.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "sim/bike/estimates.hpp"
#include "sim/cases/estimate_note.hpp"
#include "sim/report/wrap_text.hpp"

namespace glassbowl::sim {
namespace {

constexpr std::string_view unknown_mark = "# not known: ";

void collect(const toml::table& table, const std::string& prefix, Answers& out) {
  for (const auto& [name, node] : table) {
    const std::string path = prefix + std::string(name.str());
    if (const auto* section = node.as_table())
      collect(*section, path + ".", out);
    else
      out.emplace_back(path, write_value(node));
  }
}

Layers layers_of(const Interview& interview) {
  return Layers::parse(interview.text(), "answers", {}, {});
}

/// Questions that follow from what is known, and the number of each.
std::string ask(const Question& q, std::size_t number, std::size_t of) {
  return fmt::format("\n{}{}  Such as: {}\n> ", wrapped(fmt::format("{} of {}. {}?\n", number, of, q.title)),
                     wrapped(fmt::format("  {}\n", q.how)), q.example);
}

}  // namespace

void Interview::set(const Answer& answer) {
  std::erase_if(answers, [&](const Answer& known) { return known.first == answer.first; });
  answers.push_back(answer);
}

bool Interview::answered(const Question& question) const {
  if (unknown.contains(question.key)) return true;
  // An answer may have been given in another way: a flow for a bore, a height for a level, best idle.
  const std::string key = question.key, section = key.substr(0, key.rfind('.') + 1);
  return std::any_of(answers.begin(), answers.end(), [&](const Answer& a) {
    return a.first == key || (key.ends_with(".bore") && a.first == section + "flow_rating") ||
           (key == "float.level" && a.first == "float.height") ||
           (key == "carburetor.screw.turns" && a.first == "best_idle");
  });
}

std::string Interview::text() const {
  std::string out;
  for (const auto& key : unknown) out += fmt::format("{}{}\n", unknown_mark, key);
  std::map<std::string, std::string> sections;
  for (const auto& [key, value] : answers) {
    const std::size_t dot = key.rfind('.');
    const std::string section = dot == std::string::npos ? "" : key.substr(0, dot);
    sections[section] += fmt::format("{} = {}\n", key.substr(dot == std::string::npos ? 0 : dot + 1), value);
  }
  for (const auto& [section, lines] : sections)
    out += section.empty() ? lines : fmt::format("\n[{}]\n{}", section, lines);
  return out;
}

Interview Interview::read(const std::string& text, const std::string& name) {
  Interview out;
  collect(parse_toml(text, name), "", out.answers);
  for (std::size_t at = 0; (at = text.find(unknown_mark, at)) != std::string::npos;) {
    at += unknown_mark.size();
    out.unknown.insert(text.substr(at, text.find('\n', at) - at));
  }
  return out;
}

std::string assumption(const Interview& interview, const std::string& key) {
  const Layers layers = layers_of(interview);
  KnownValues known(layers);
  const DeclaredKey* declared = find_declared(key);
  const auto in_words = [&](const std::string& value, const Spread& spread, const std::string& rule) {
    std::string plain = value;
    std::erase(plain, '"');
    const std::string width = declared == nullptr ? "" : spread_text(spread, declared->unit);
    return fmt::format("{}{}{}: {}", plain, width.empty() ? "" : " +- ", width, rule);
  };
  if (key == "carburetor.screw.turns" && known.number("idle_speed") > 0.0)
    return "found by computation, for best idle at that speed";
  for (const Estimate& e : estimate_missing(known)) {
    std::string_view path = e.path;
    if (path == key) return in_words(e.value, e.spread, e.spread.reason);
    // Sizes that are measured in another way than the model counts them.
    for (const auto& [measured, means] :
         {std::pair<std::string_view, std::string_view>{"inlet.filter_paper", "inlet.filter_area"},
          {"silencer.outlet_bore", "silencer.area"}})
      if (key == measured && path == means) {
        declared = find_declared(means);
        return fmt::format("{} = {}", means, in_words(e.value, e.spread, e.spread.reason));
      }
  }
  if (key == "engine.displacement") return "it follows from bore and stroke, asked for below";
  if (key == "idle_speed") return "an idle stop by the air that an idle of 1,100 rpm needs";
  if (key == "carburetor.pump.volume") return "no accelerator pump";
  const auto* fallback = declared == nullptr ? nullptr : declared->fallback.get("value");
  return fallback == nullptr ? "" : in_words(write_value(*fallback), {}, "default");
}

bool hold_interview(Interview& interview, std::istream& in,
                    const std::function<void(const std::string&)>& say,
                    const std::function<void(const Interview&)>& keep) {
  const auto& all = questions();
  std::vector<std::size_t> asked;
  for (std::size_t i = 0; i < all.size();) {
    const Question& q = all[i];
    const Layers layers = layers_of(interview);
    const KnownValues known(layers);
    const bool open = !interview.answered(q) && (q.asked == nullptr || q.asked(known));
    if (!open) {
      ++i;
      continue;
    }
    say(ask(q, i + 1, all.size()));
    std::string line;
    if (!std::getline(in, line)) return false;
    if (!line.empty() && line.back() == '\r') line.pop_back();
    while (!line.empty() && line.back() == ' ') line.pop_back();
    while (!line.empty() && line.front() == ' ') line.erase(0, 1);
    if (line == "stop" || line == "quit") return false;
    if (line == "back") {
      if (asked.empty()) {
        say("  This is the first question of this session.\n");
        continue;
      }
      i = asked.back();
      asked.pop_back();
      interview.unknown.erase(all[i].key);
      // The values of a question share the section of its key, or are its key.
      for (const auto& value : all[i].read(all[i], all[i].example).values)
        std::erase_if(interview.answers, [&](const Answer& a) { return a.first == value.first; });
      std::erase_if(interview.answers, [&](const Answer& a) { return a.first == all[i].key; });
      keep(interview);
      continue;
    }
    if (not_known(line)) {
      if (q.needed != nullptr && q.needed(known)) {
        say("  This one is needed: nothing else can be estimated without it.\n");
        continue;
      }
      const std::string assumed = assumption(interview, q.key);
      interview.unknown.insert(q.key);
      say(wrapped(fmt::format("Assumed: {}\n", assumed.empty() ? "nothing" : assumed), "  ", "    "));
    } else {
      const AnswerReading reading = q.read(q, line);
      if (!reading.complaint.empty()) {
        say(wrapped(fmt::format("{}: {}.\n", line, reading.complaint), "  ", "    "));
        continue;
      }
      for (const auto& value : reading.values) interview.set(value);
      if (reading.values.empty()) interview.unknown.insert(q.key);  // as the rule has it
    }
    asked.push_back(i);
    keep(interview);
    ++i;
  }
  return true;
}

}  // namespace glassbowl::sim
