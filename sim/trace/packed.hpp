#pragma once

#include <cstdint>
#include <cstring>
#include <stdexcept>
#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

/// Values in a row of bytes, as one process hands them to another of the same program.
namespace glassbowl::sim {

class Packer {
 public:
  void number(std::uint64_t value) { plain(value); }
  void real(double value) { plain(value); }
  void text(std::string_view value) {
    number(value.size());
    bytes_ += value;
  }
  template <class List, class PutOne>
  void list(const List& values, PutOne put_one) {
    number(values.size());
    for (const auto& value : values) put_one(value);
  }
  std::string take() { return std::move(bytes_); }

 private:
  template <class T>
  void plain(T value) {
    char raw[sizeof value];
    std::memcpy(raw, &value, sizeof value);
    bytes_.append(raw, sizeof value);
  }
  std::string bytes_;
};

/// Takes them out again in the same order. Bytes that do not fit throw std::length_error: the process that
/// gave them may have been led astray by what it read.
class Unpacker {
 public:
  explicit Unpacker(std::string_view bytes) : rest_(bytes) {}

  std::uint64_t number() { return plain<std::uint64_t>(); }
  double real() { return plain<double>(); }
  std::string text() { return std::string(cut(number())); }
  template <class TakeOne>
  auto list(TakeOne take_one) {
    std::vector<std::remove_cvref_t<decltype(take_one())>> values;
    for (std::uint64_t left = number(); left > 0; --left) values.push_back(take_one());
    return values;
  }
  void end() const {
    if (!rest_.empty()) throw std::length_error("more was handed over than there should be");
  }

 private:
  std::string_view cut(std::uint64_t bytes) {
    if (bytes > rest_.size()) throw std::length_error("less was handed over than there should be");
    const std::string_view front = rest_.substr(0, bytes);
    rest_.remove_prefix(bytes);
    return front;
  }
  template <class T>
  T plain() {
    T value;
    std::memcpy(&value, cut(sizeof value).data(), sizeof value);
    return value;
  }
  std::string_view rest_;
};

}  // namespace glassbowl::sim
