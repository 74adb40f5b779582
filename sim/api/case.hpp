#pragma once
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

namespace glassbowl::sim {

struct ResolvedCase;

/// A case, read and checked: the parameters of a bike and its ride. Copies share what was read.
class Case {
 public:
  /// Reads what `given` names: a file, a shipped run, a shipped bike ("bikes/goat_400", which idles), a
  /// trace, or "RIDE+BIKE", a shipped ride on a shipped bike; with overrides "key.path=VALUE". Errors `Error`
  /// of kind `input` or `case_file`, with all problems at once.
  explicit Case(const std::string& given, const std::vector<std::string>& sets = {});

  const std::string& name() const;
  const std::string& title() const;
  const std::string& text() const;  ///< the whole case as TOML, to read it again from
  const std::vector<std::string>& warnings() const;
  const ResolvedCase& resolved() const { return *resolved_; }  ///< for the library itself

 private:
  std::shared_ptr<const ResolvedCase> resolved_;
};

/// A case that comes with the program.
struct ShippedCase {
  std::string name;   ///< as `Case` takes it: "blip", "bikes/mule_750"
  std::string title;  ///< its title or its first comment
};

/// Rides and bikes that come with the program, by name.
std::vector<ShippedCase> shipped_rides();
std::vector<ShippedCase> shipped_bikes();

/// Where they and the lessons lie; empty if they are not installed.
std::filesystem::path shipped_folder();

/// The one of `names` that is most like `given`; empty if none is alike.
std::string nearest_name(const std::string& given, const std::vector<std::string>& names);

/// Whether a file is a trace, by its first bytes; what is none is read as a case.
bool is_trace_file(const std::filesystem::path& file);

}  // namespace glassbowl::sim
