#include <algorithm>
#include <cmath>
#include <cstdio>
#include <set>

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

  std::string stated;
  for (const Row& row : rows)
    if (!row.disagreement.cause.empty())
      stated += "  " + row.part + ": " + row.what + "\n      " + row.disagreement.cause + "\n";
  if (!stated.empty()) text += "\nStated disagreements and their likely causes\n" + stated;

  std::set<std::string> seen;
  text += "\nWhy these tolerances\n";
  for (const Row& row : rows) {
    const std::string reason = row.part + ", " + tolerance_text(row) + ": " + row.tolerance.why;
    if (seen.insert(reason).second) text += "  " + reason + "\n";
  }

  const Summary s = summarise(rows);
  text += "\n" + std::to_string(s.rows) + " comparisons against " + std::to_string(s.works) +
          " published works: " + std::to_string(s.held) + " hold, " + std::to_string(s.disagree_as_stated) +
          " disagree as stated, " + std::to_string(s.outdated) + " hold although stated to disagree, " +
          std::to_string(s.failed) + " fail.\n";
  return text;
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
