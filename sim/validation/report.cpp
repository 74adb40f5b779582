#include <algorithm>
#include <cmath>
#include <cstdio>
#include <map>
#include <set>

#include "sim/report/wrap_text.hpp"
#include "sim/validation/check.hpp"

namespace glassbowl::validation {
namespace {

std::string number(double x) {
  char text[32];
  std::snprintf(text, sizeof text, "%.6g", x);
  return text;
}

std::string signed_size(const Row& row, double x) {
  char text[32];
  if (row.tolerance.relative)
    std::snprintf(text, sizeof text, "%+.3g %%", 100.0 * x);
  else
    std::snprintf(text, sizeof text, "%+.3g", x);
  return text;
}

std::string tolerance_text(const Row& row) {
  return signed_size(row, row.tolerance.size).substr(1);
}

const char* verdict_text(Verdict v) {
  switch (v) {
    case Verdict::holds:
      return "holds";
    case Verdict::disagrees_as_stated:
      return "disagrees (stated)";
    case Verdict::statement_outdated:
      return "STATEMENT OUTDATED";
    case Verdict::fails:
      return "FAILS";
  }
  return "FAILS";
}

/// Columns on screen: bytes that do not continue a UTF-8 character.
std::size_t width(const std::string& text) {
  return static_cast<std::size_t>(std::count_if(
      text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0u) != 0x80u; }));
}

std::string padded(std::string text, std::size_t columns) {
  const std::size_t w = width(text);
  if (w < columns) text.append(columns - w, ' ');
  return text;
}

std::string json_string(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (static_cast<unsigned char>(c) < 0x20u) {
      char code[8];
      std::snprintf(code, sizeof code, "\\u%04x", static_cast<unsigned>(c));
      out += code;
    } else {
      out += c;
    }
  }
  return out + "\"";
}

std::string json_number(double x) {
  if (!std::isfinite(x)) return "null";
  char text[32];
  std::snprintf(text, sizeof text, "%.10g", x);
  return text;
}

/// Difference over tolerance; what is no number is worse than all.
double in_tolerances(const Row& row) {
  const double ratio = std::abs(difference(row)) / row.tolerance.size;
  return std::isnan(ratio) ? INFINITY : ratio;
}

std::string total_text(const Summary& s) {
  return std::to_string(s.rows) + " comparisons against " + std::to_string(s.works) +
         " published works: " + std::to_string(s.held) + " hold, " + std::to_string(s.disagree_as_stated) +
         " disagree as stated, " + std::to_string(s.outdated) + " hold although stated to disagree, " +
         std::to_string(s.failed) + " fail.\n";
}

std::string part_line(const std::string& part, std::size_t room, const std::string& comparisons,
                      const std::string& held, const std::string& stated, const std::string& failed,
                      const std::string& worst) {
  std::string text = "  " + padded(part, room);
  for (const std::string* cell : {&comparisons, &held, &stated, &failed})
    text += std::string(13 - std::min<std::size_t>(13, width(*cell)), ' ') + *cell;
  return text + "   " + worst + "\n";
}

/// One line per part, in the order of the checks.
std::string parts_table(const std::vector<Row>& rows) {
  std::vector<std::string> order;
  std::map<std::string, std::vector<Row>> parts;
  std::size_t room = 5;
  for (const Row& row : rows) {
    if (!parts.contains(row.part)) order.push_back(row.part);
    parts[row.part].push_back(row);
    room = std::max(room, width(row.part));
  }
  std::string text =
      part_line("part", room, "comparisons", "held", "stated", "failed", "worst, in tolerances");
  const auto line = [&](const std::string& name, const std::vector<Row>& of) {
    const Summary s = summarise(of);
    double worst = 0.0;
    for (const Row& row : of) worst = std::max(worst, in_tolerances(row));
    char shown[32];
    std::snprintf(shown, sizeof shown, "%.2f", worst);
    text += part_line(name, room, std::to_string(s.rows), std::to_string(s.held),
                      std::to_string(s.disagree_as_stated), std::to_string(s.failed + s.outdated), shown);
  };
  for (const auto& part : order) line(part, parts[part]);
  line("total", rows);
  return text;
}

/// Each row that does not hold, or holds although stated otherwise.
std::string disagreements_text(const std::vector<Row>& rows) {
  std::string text;
  for (const Row& row : rows) {
    const Verdict v = verdict(row);
    if (v == Verdict::holds) continue;
    text += sim::wrapped(row.part + ": " + row.what, "  ", "      ");
    const std::string unit = row.unit == "-" ? "" : " " + row.unit;
    text += sim::wrapped("computed " + number(row.computed) + unit + ", published " + number(row.published) +
                             unit + ", difference " + signed_size(row, difference(row)) + ", tolerance " +
                             tolerance_text(row) + ": " + verdict_text(v),
                         "      ", "        ");
    text += sim::wrapped("source: " + source_text(row), "      ", "        ");
    if (!row.disagreement.cause.empty())
      text += sim::wrapped("likely cause: " + row.disagreement.cause, "      ", "        ");
  }
  return text;
}

}  // namespace

Summary summarise(const std::vector<Row>& rows) {
  Summary s;
  std::set<std::string> works;
  for (const Row& row : rows) {
    ++s.rows;
    switch (verdict(row)) {
      case Verdict::holds:
        ++s.held;
        break;
      case Verdict::disagrees_as_stated:
        ++s.disagree_as_stated;
        break;
      case Verdict::statement_outdated:
        ++s.outdated;
        break;
      case Verdict::fails:
        ++s.failed;
        break;
    }
    if (!row.source.work.empty() && row.source.seen != Seen::derived &&
        row.source.seen != Seen::common_practice)
      works.insert(row.source.work);
  }
  s.works = static_cast<int>(works.size());
  return s;
}

std::string format_summary(const std::vector<Row>& rows) {
  std::string text = sim::wrapped(total_text(summarise(rows))) + "\n" + parts_table(rows);
  if (const std::string disagreements = disagreements_text(rows); !disagreements.empty())
    text += "\nDisagreements and their likely causes\n" + disagreements;
  return text;
}

std::string format_table(const std::vector<Row>& rows) {
  struct Line {
    std::string cell[8];
  };
  std::vector<Line> lines{
      {{"what", "unit", "published", "computed", "difference", "tolerance", "verdict", "source"}}};
  for (const Row& row : rows)
    lines.push_back({{row.part + ": " + row.what, row.unit, number(row.published), number(row.computed),
                      signed_size(row, difference(row)), tolerance_text(row), verdict_text(verdict(row)),
                      source_text(row)}});
  std::size_t columns[8] = {};
  for (const Line& line : lines)
    for (std::size_t k = 0; k < 8; ++k) columns[k] = std::max(columns[k], width(line.cell[k]));
  std::string text;
  for (const Line& line : lines) {
    for (std::size_t k = 0; k < 7; ++k) text += padded(line.cell[k], columns[k] + 2);
    text += line.cell[7] + "\n";
  }

  std::set<std::string> seen;
  text += "\nWhy these tolerances\n";
  for (const Row& row : rows) {
    const std::string reason = row.part + ", " + tolerance_text(row) + ": " + row.tolerance.why;
    if (seen.insert(reason).second) text += "  " + reason + "\n";
  }

  return text + "\n" + format_summary(rows);
}

std::string json_rows(const std::vector<Row>& rows) {
  std::string text = "[\n";
  for (const Row& row : rows) {
    const Verdict v = verdict(row);
    const bool held = v == Verdict::holds || v == Verdict::statement_outdated;
    text +=
        "  {\"part\": " + json_string(row.part) + ", \"what\": " + json_string(row.what) +
        ", \"source\": " + json_string(source_text(row)) + ", \"published\": " + json_number(row.published) +
        ", \"computed\": " + json_number(row.computed) + ", \"difference\": " + json_number(difference(row)) +
        ", \"tolerance\": " + json_number(row.tolerance.size) +
        ", \"tolerance_kind\": " + (row.tolerance.relative ? "\"relative\"" : "\"absolute\"") +
        ", \"tolerance_reason\": " + json_string(row.tolerance.why) + ", \"unit\": " + json_string(row.unit) +
        ", \"verdict\": " + json_string(verdict_text(v)) + ", \"held\": " + (held ? "true" : "false") +
        ", \"disagreement\": " + json_string(row.disagreement.cause) + "}";
    text += &row == &rows.back() ? "\n" : ",\n";
  }
  return text + "]\n";
}

}  // namespace glassbowl::validation
