#pragma once
#include <filesystem>
#include <memory>
#include <vector>

namespace glassbowl::viz {

/// Files that are dropped on a window (XDND, version 5). The window's own events belong to the library that
/// opened it, so a window of ours stands in for it as XdndProxy allows.
class DropTarget {
 public:
  explicit DropTarget(unsigned long window);
  ~DropTarget();
  DropTarget(const DropTarget&) = delete;
  DropTarget& operator=(const DropTarget&) = delete;

  /// Files dropped since the last call; once per picture.
  std::vector<std::filesystem::path> take();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// Paths of a list of file: addresses, one a line (RFC 2483).
std::vector<std::filesystem::path> paths_of_list(const std::string& list);

}  // namespace glassbowl::viz
