#pragma once
#include <cstddef>
#include <list>
#include <string>
#include <unordered_map>
#include <vector>

#include "sim/api/trace.hpp"

namespace glassbowl::viz {

/// Blocks of a trace's channels, the least used ones forgotten: memory stays bounded whatever the trace's
/// size.
class BlockCache {
 public:
  static constexpr std::size_t block_rows = 4096;

  explicit BlockCache(std::size_t most_blocks) : most_blocks_(most_blocks) {}

  /// Rows of one block, fewer at the end of the trace. Valid until the next call.
  const std::vector<double>& block(const sim::TraceReader& trace, std::size_t channel,
                                   const std::string& name, std::size_t number);
  /// Forgets blocks that were not full, after rows have come.
  void forget_partial();
  std::size_t held() const { return order_.size(); }

 private:
  struct Block {
    std::size_t key = 0;
    std::vector<double> values;
  };
  std::size_t most_blocks_;
  std::list<Block> order_;  // most lately used first
  std::unordered_map<std::size_t, std::list<Block>::iterator> found_;
};

}  // namespace glassbowl::viz
