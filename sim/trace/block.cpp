#include "sim/trace/block.hpp"

#include <algorithm>
#include <bit>
#include <cstring>

namespace glassbowl::sim {
namespace {

static_assert(std::endian::native == std::endian::little, "rows are written as they lie in memory");

constexpr std::size_t cache_line = 64;
constexpr std::size_t most_staged = 32;
// Half the time of single columns; for a longer stretch the system's cache of files may look for pieces of
// memory so large that none is at hand.
constexpr std::size_t most_together = 512 << 10;

/// Zeros, but for the scale, column 0: it is filled with NaN.
bool may_be_hole(std::size_t column, std::span<const std::byte> bytes) {
  return column > 0 && !bytes.empty() && bytes[0] == std::byte{0} &&
         std::memcmp(bytes.data(), bytes.data() + 1, bytes.size() - 1) == 0;
}

}  // namespace

Block::Block(TableLayout layout, std::size_t block_rows)
    : layout_(std::move(layout)), block_rows_(block_rows), staged_(most_staged * layout_.columns.size()) {
  std::size_t bytes = 0;
  for (const auto& column : layout_.columns) {
    begin_.push_back(bytes);
    // A line more than a power of two: one row's values would else share a handful of cache sets.
    bytes += block_rows * column.value_bytes() + cache_line;
  }
  bytes_ = std::make_unique_for_overwrite<std::byte[]>(bytes);
}

/// Row by row, each value would go to a distant place; a few rows at a time stay in the fastest cache.
void Block::sort_into_columns() {
  const std::size_t columns = layout_.columns.size();
  const std::size_t first = filled_ - staged_rows_;
  for (std::size_t i = 0; i < columns; ++i) {
    std::byte* column = bytes_.get() + begin_[i];
    const double* from = staged_.data() + i;
    if (layout_.columns[i].wide) {
      double* to = reinterpret_cast<double*>(column) + first;
      for (std::size_t row = 0; row < staged_rows_; ++row) to[row] = from[row * columns];
    } else {
      float* to = reinterpret_cast<float*>(column) + first;
      for (std::size_t row = 0; row < staged_rows_; ++row) to[row] = static_cast<float>(from[row * columns]);
    }
  }
  staged_rows_ = 0;
}

void Block::add(double scale, std::span<const double> values) {
  double* row = staged_.data() + staged_rows_ * layout_.columns.size();
  row[0] = scale;
  std::copy(values.begin(), values.end(), row + 1);
  ++filled_;
  if (++staged_rows_ == most_staged || full()) sort_into_columns();
}

void Block::write(const DiskFile& file, WrittenPages& pages) {
  if (written_ == filled_) return;
  sort_into_columns();
  write_columns(1, layout_.columns.size(), file, pages);
  write_columns(0, 1, file, pages);
  written_ = filled_;
  if (full()) {
    first_ += block_rows_;
    filled_ = written_ = 0;
  }
}

/// Columns that lie one behind the other in the file, as those of a whole chunk do, go together. Nothing but
/// zeros need not go: rows are written once, before HDF5 cuts the columns, so there is a hole of the file,
/// and it reads as zeros.
void Block::write_columns(std::size_t first, std::size_t end, const DiskFile& file, WrittenPages& pages) {
  std::uint64_t begin = 0, next = 0;
  pieces_.clear();
  const auto write_stretch = [&] {
    file.write_at(pieces_, static_cast<off_t>(begin));
    pieces_.clear();
  };
  for (std::size_t i = first; i < end; ++i) {
    const std::size_t size = layout_.columns[i].value_bytes();
    const std::span<std::byte> bytes(bytes_.get() + begin_[i] + written_ * size, (filled_ - written_) * size);
    const std::uint64_t offset = layout_.offset(i, first_ + written_);
    pages.take(bytes, offset);
    if (may_be_hole(i, bytes)) continue;
    if (offset != next || next - begin >= most_together) {
      write_stretch();
      begin = next = offset;
    }
    pieces_.push_back({bytes.data(), bytes.size()});
    next += bytes.size();
  }
  write_stretch();
}

void Block::copy(const DiskFile& from, const DiskFile& to, const TableLayout& layout) const {
  std::vector<std::byte> room(block_rows_ * 8);
  const std::size_t on_disk = first_ + written_;
  for (std::size_t i = layout.columns.size(); i-- > 0;) {
    const std::size_t size = layout.columns[i].value_bytes();
    for (std::size_t row = 0; row < on_disk; row += block_rows_) {  // chunks are whole blocks in both
      const std::span<std::byte> bytes(room.data(), std::min(block_rows_, on_disk - row) * size);
      from.read_at(bytes.data(), bytes.size(), static_cast<off_t>(layout_.offset(i, row)));
      if (may_be_hole(i, bytes)) continue;
      to.write_at(bytes.data(), bytes.size(), static_cast<off_t>(layout.offset(i, row)));
    }
  }
}

}  // namespace glassbowl::sim
