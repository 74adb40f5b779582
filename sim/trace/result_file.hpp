#pragma once

#include <filesystem>
#include <string>
#include <utility>
#include <vector>

#include "sim/api/study.hpp"

/// What a study found, as HDF5 with the conventions of traces: every array lies on named scales and says its
/// unit and meaning; the complete input is inside, so that the study can be repeated from its own file. It
/// ends in the seal of a trace (sim/trace/seal.hpp), so that no damage goes unseen.
namespace glassbowl::sim {

/// Words along one axis, or a single text where `axis` is empty.
struct ResultText {
  std::string name, long_name, axis;
  std::vector<std::string> values;
};

struct ResultFile {
  std::string title, version;
  std::string study;          ///< which command made it
  std::string inputs;         ///< what that command was asked, JSON
  std::string case_resolved;  ///< the complete case, TOML
  std::string status = "complete";
  std::vector<ResultAxis> axes;
  std::vector<ResultVariable> variables;
  std::vector<ResultText> texts;

  /// Throws std::invalid_argument if there is none of that name.
  const ResultAxis& axis(const std::string& name) const;
  const ResultVariable& variable(const std::string& name) const;
  const ResultText& text(const std::string& name) const;
};

/// Gives the file its name only when it is whole (`NewFile`). Throws Error; std::invalid_argument where
/// arrays do not fit their axes.
void write_result_file(const std::filesystem::path& target, bool force, const ResultFile& result);

/// Throws Error{file} for a file that is missing, differs from what was written or holds no study. A file
/// without a seal is read: older studies have none, and another program that writes to a file cuts it off.
ResultFile read_result_file(const std::filesystem::path& path);

/// Whether this HDF5 file holds a study rather than a trace; false for anything else.
bool is_result_file(const std::filesystem::path& path);

}  // namespace glassbowl::sim
