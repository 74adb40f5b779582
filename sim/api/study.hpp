#pragma once
#include <atomic>
#include <cstddef>
#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include "sim/api/case.hpp"

namespace glassbowl::sim {

struct ResultAxis {
  std::string name, unit, long_name;
  std::vector<double> values;
};

struct ResultVariable {
  std::string name, unit, long_name;
  std::vector<std::string> axes;  ///< names, slowest first
  std::vector<double> values;     ///< product of the axes' lengths; NaN where nothing is known
};

/// What a study is asked. Empty lists: the study's usual ones.
struct StudyQuestion {
  std::string study = "map";      ///< "map", "overlap", "altitude", "jets", "blips"
  std::vector<double> speeds;     ///< [rad/s]
  std::vector<double> openings;   ///< [-] throttle, 0 on the stop .. 1 wide open
  std::vector<double> altitudes;  ///< [m]
};

struct StudySettings {
  std::filesystem::path output;  ///< HDF5 file to write; empty: none
  bool replace = false;          ///< this file if it is there
  unsigned threads = 0;          ///< points computed at a time; 0: one per core
  std::function<void(std::size_t done, std::size_t of)> progress;
  const std::atomic<bool>* stop = nullptr;
};

/// What came of a study. The verdict and the caution stand first wherever it is shown.
struct StudyAnswer {
  std::string verdict, caution, answer, table;
  std::vector<ResultAxis> axes;
  std::vector<ResultVariable> figures;

  /// Throws std::invalid_argument if there is none of that name.
  const ResultVariable& figure(const std::string& name) const;
};

/// Errors  `Error`: a question or case that it cannot take, a file that cannot be written. A point that
/// cannot
///         be computed ends no study: its figures are NaN, and the answer says why.
StudyAnswer run_study(const Case& bike, const StudyQuestion& question, const StudySettings& settings = {});

}  // namespace glassbowl::sim
