#include "viz/source/block_cache.hpp"

namespace glassbowl::viz {
namespace {

constexpr std::size_t channel_shift = 40;  // blocks per channel stay far below 2^40

}  // namespace

const std::vector<double>& BlockCache::block(const sim::TraceReader& trace, std::size_t channel,
                                             const std::string& name, std::size_t number) {
  const std::size_t key = (channel << channel_shift) + number;
  if (const auto at = found_.find(key); at != found_.end()) {
    order_.splice(order_.begin(), order_, at->second);
    return order_.front().values;
  }
  Block fresh;
  if (order_.size() >= most_blocks_) {
    found_.erase(order_.back().key);
    fresh = std::move(order_.back());
    order_.pop_back();
  }
  fresh.key = key;
  fresh.values.resize(block_rows);
  fresh.values.resize(trace.read_into(name, number * block_rows, fresh.values));
  order_.push_front(std::move(fresh));
  found_[key] = order_.begin();
  return order_.front().values;
}

void BlockCache::forget_partial() {
  for (auto at = order_.begin(); at != order_.end();) {
    if (at->values.size() < block_rows) {
      found_.erase(at->key);
      at = order_.erase(at);
    } else {
      ++at;
    }
  }
}

}  // namespace glassbowl::viz
