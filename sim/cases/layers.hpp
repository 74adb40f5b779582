#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

namespace glassbowl::sim {

struct Layer;

/// Folder with the cases that come with the program: that of the source tree if it exists, else the installed
/// one; empty path if neither exists.
std::filesystem::path shipped_cases();

/// The files of one case, kept apart so that every value still knows its file, line and column.
///
/// A file may name others at top level, `base = "bikes/mule.toml"` or an array of such. They are sought
/// relative to the file that names them, then in the shipped folder, and the file's own values win over
/// theirs; of several bases a later one wins over an earlier. A file reached twice counts once, below all
/// that build on it. Bases must lie, with symbolic links followed, below the folder of the case, below that
/// folder's parent, or below the shipped folder. Overrides "key.path=VALUE" win over everything, the last one
/// most; VALUE is a TOML value if it parses as one, else text. Errors: Error{case_file} for files,
/// Error{input} for overrides. Limits: limits.hpp.
class Layers {
 public:
  static Layers read(const std::filesystem::path& file, const std::vector<std::string>& sets = {},
                     const std::filesystem::path& shipped = shipped_cases());

  /// A case from memory, called `name` in messages; its bases can only be shipped ones.
  static Layers parse(std::string text, std::string name, const std::vector<std::string>& sets = {},
                      const std::filesystem::path& shipped = shipped_cases());

  /// Name of the case's main file as it was given.
  const std::string& name() const { return name_; }

  /// The files read, highest priority first, overrides left out.
  std::vector<std::string> files() const;

  /// All layers, highest priority first.
  const std::vector<Layer>& all() const { return *layers_; }

  /// Puts a layer of made values before the layer at `index`, or last. Nobody may hold nodes of it yet.
  void insert(std::size_t index, Layer layer);

 private:
  Layers(std::string name, std::vector<Layer> layers);

  std::string name_;
  std::shared_ptr<std::vector<Layer>> layers_;
};

}  // namespace glassbowl::sim
