#pragma once

#include <cstddef>
#include <memory>
#include <span>
#include <utility>
#include <vector>

#include "sim/output/disk_file.hpp"
#include "sim/trace/seal.hpp"
#include "sim/trace/trace_layout.hpp"

namespace glassbowl::sim {

/// The rows of one dimension that are not on disk yet, column by column, and where they belong.
class Block {
 public:
  Block(TableLayout layout, std::size_t block_rows);

  std::size_t rows() const { return first_ + filled_; }  // given so far, with those on disk
  bool full() const { return filled_ == block_rows_; }
  bool at_capacity() const { return rows() == layout_.room; }

  /// Takes one row. The block must not be full, nor the file at capacity.
  void add(double scale, std::span<const double> values);

  /// Writes what is not on disk yet, the scale last: a row counts once its scale is a number. A full block is
  /// emptied. Whole pages are noted for the seal. Throws std::system_error; the rows then stay here.
  void write(const DiskFile& file, WrittenPages& pages);

  /// Copies all rows on disk into a fresh file of another layout. Throws std::system_error.
  void copy(const DiskFile& from, const DiskFile& to, const TableLayout& layout) const;
  /// Goes on in a file of this layout, which holds a copy.
  void go_on_in(TableLayout&& layout) noexcept { layout_ = std::move(layout); }

 private:
  void sort_into_columns();
  void write_columns(std::size_t first, std::size_t end, const DiskFile& file, WrittenPages& pages);

  TableLayout layout_;
  std::size_t block_rows_;
  std::size_t first_ = 0;           // row of the file at which the block begins
  std::size_t filled_ = 0;          // rows in the block
  std::size_t written_ = 0;         // of these, rows already on disk
  std::vector<std::size_t> begin_;  // of each column, in bytes
  std::unique_ptr<std::byte[]> bytes_;
  std::vector<iovec> pieces_;    // of one stretch of the file
  std::vector<double> staged_;   // the newest rows, as they came
  std::size_t staged_rows_ = 0;  // of the rows in the block, how many are only staged
};

}  // namespace glassbowl::sim
