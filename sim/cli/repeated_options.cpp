#include "sim/cli/repeated_options.hpp"

#include <algorithm>
#include <array>
#include <filesystem>
#include <string_view>
#include <system_error>

namespace glassbowl::sim {
namespace {

constexpr std::array<std::string_view, 4> repeatable{"--set", "--try", "--target", "--after"};

bool is_setting(const std::string& word) {
  std::error_code ignored;
  const std::size_t equals = word.find('=');
  return !word.starts_with('-') && equals != std::string::npos && equals > 0 &&
         !std::filesystem::exists(word, ignored);
}

}  // namespace

std::vector<std::string> with_option_repeated(int argc, const char* const* argv) {
  std::vector<std::string> words;
  std::string option;  // whose values these are
  for (int i = 1; i < argc; ++i) {
    const std::string word = argv[i];
    const bool begins = std::find(repeatable.begin(), repeatable.end(), word) != repeatable.end();
    if (!option.empty() && !begins && words.back() != option) {
      if (is_setting(word))
        words.push_back(option);
      else
        option.clear();
    }
    if (begins) option = word;
    words.push_back(word);
  }
  std::reverse(words.begin(), words.end());
  return words;
}

}  // namespace glassbowl::sim
