#include "sim/cli/help_format.hpp"

#include <sstream>
#include <string>

#include "sim/report/wrap_text.hpp"

namespace glassbowl::sim {
namespace {

class HelpFormat : public CLI::Formatter {
 public:
  HelpFormat() { column_width(column); }
  std::string make_option_desc(const CLI::Option* option) const override {
    return beside_names(CLI::Formatter::make_option_desc(option));
  }
  std::string make_subcommand(const CLI::App* command) const override {
    std::stringstream out;
    CLI::detail::format_help(out, command->get_name(), beside_names(command->get_description()), column);
    return out.str();
  }
  std::string make_description(const CLI::App* app) const override {
    return wrapped(CLI::Formatter::make_description(app));
  }

 private:
  static constexpr std::size_t column = 30;

  /// Wrapped as it stands behind the column of names, which the library indents.
  static std::string beside_names(const std::string& text) {
    const std::string indent(column, ' ');
    std::string lines = wrapped(text, indent, indent), out;
    for (std::size_t at = 0; at < lines.size();) {
      const std::size_t end = lines.find('\n', at);
      out += (out.empty() ? "" : "\n") + lines.substr(at + column, end - at - column);
      at = end + 1;
    }
    return out;
  }
};

}  // namespace

std::shared_ptr<CLI::FormatterBase> help_format() {
  return std::make_shared<HelpFormat>();
}

}  // namespace glassbowl::sim
