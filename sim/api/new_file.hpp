#pragma once

#include <filesystem>
#include <memory>
#include <span>
#include <string_view>

namespace glassbowl::sim {

class DiskFile;

/// Refuses a name that cannot be an output: its folder is missing or not writable; a folder, link, device,
/// pipe or socket has the name; or a file has it and `replace` is false. Nothing is created. Errors  `Error`
/// of kind `input` that names the file, the reason and a remedy.
void check_output(const std::filesystem::path& target, bool replace);

/// Refuses likewise if `<target>.partial`, the name of an unfinished output, is taken. With `replace` an
/// unfinished file may be there, unless another run is writing it.
void check_partial(const std::filesystem::path& target, bool replace);

/// Refuses two outputs of one command that are the same file. Errors: `Error` of kind `input`.
void check_distinct(std::span<const std::filesystem::path> targets);

/// The only way in which this program creates an output.
///
/// The file is created in the folder of its target, without a name where the file system can do that, else
/// under a random new name; no link is followed. `publish` waits until the data are on the medium and gives
/// this very file its name, whatever happened to other names meanwhile. An unpublished file disappears, after
/// a kill as well if it had no name.
///
/// `show` gives the unfinished file the name `<target>.partial`, for outputs that can be read as they grow
/// and are kept after a failure. Of several runs that want one such name, one gets it.
///
/// Errors  `Error` of kind `input` as `check_output` and `check_partial`; of kind `file` when the system
///         refuses, say on a full disk. A failed output leaves what had its name before.
class NewFile {
 public:
  NewFile(std::filesystem::path target, bool replace);
  ~NewFile();
  NewFile(NewFile&&) noexcept;
  NewFile& operator=(NewFile&&) noexcept;

  const std::filesystem::path& target() const;
  std::filesystem::path partial_path() const;
  const DiskFile& file() const;
  int descriptor() const;

  /// Adds bytes at the end of those appended so far.
  void append(std::string_view bytes);

  void show();
  /// The same for a second, better copy of a shown file, which loses the name.
  void show_in_place_of(const NewFile& older);
  /// From now on the shown file stays under that name even if it is not published.
  void keep();

  void publish();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// Creates a whole file at once.
void write_new_file(const std::filesystem::path& target, bool replace, std::string_view bytes);

}  // namespace glassbowl::sim
