#include "sim/api/case.hpp"

#include "sim/bike/resolved_case.hpp"
#include "sim/cases/find_case.hpp"
#include "sim/cases/layers.hpp"
#include "sim/cases/nearest_key.hpp"
#include "sim/live/given_case.hpp"

namespace glassbowl::sim {
namespace {

std::vector<ShippedCase> list(const std::string& folder, const std::string& before) {
  std::vector<ShippedCase> out;
  for (const auto& file : shipped_files(folder)) out.push_back({before + file.name, file.title});
  return out;
}

}  // namespace

Case::Case(const std::string& given, const std::vector<std::string>& sets)
    : resolved_(std::make_shared<const ResolvedCase>(read_given(given, sets))) {}

const std::string& Case::name() const {
  return resolved_->name;
}
const std::string& Case::title() const {
  return resolved_->title;
}
const std::string& Case::text() const {
  return resolved_->text;
}
const std::vector<std::string>& Case::warnings() const {
  return resolved_->warnings;
}

std::vector<ShippedCase> shipped_rides() {
  return list("runs", "");
}
std::vector<ShippedCase> shipped_bikes() {
  return list("bikes", "bikes/");
}

std::filesystem::path shipped_folder() {
  return shipped_cases();
}

std::string nearest_name(const std::string& given, const std::vector<std::string>& names) {
  return nearest_key(given, names);
}

bool is_trace_file(const std::filesystem::path& file) {
  return is_trace(file);
}

}  // namespace glassbowl::sim
