#include "sim/cases/layers.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <system_error>

#include "sim/api/error.hpp"
#include "sim/cases/case_limits.hpp"
#include "sim/cases/excerpt.hpp"
#include "sim/cases/input_file.hpp"
#include "sim/cases/layer.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

std::string shown(const fs::path& path) {
  return clipped(path.generic_string(), 4 * limits::excerpt_chars);
}

/// `path` with links followed, or empty if there is no such thing.
fs::path real_path(const fs::path& path) {
  std::error_code error;
  fs::path real = fs::canonical(path, error);
  return error ? fs::path() : real;
}

bool lies_below(const fs::path& path, const fs::path& folder) {
  if (folder.empty()) return false;
  const auto [at, end] = std::mismatch(folder.begin(), folder.end(), path.begin(), path.end());
  return at == folder.end();
}

/// At most one byte more than allowed is read, so that the size is judged by what was read.
std::string read_text(const fs::path& file, const std::string& name) {
  const InputFile input(file, name, "give the path of a case in TOML");
  std::string text = input.read(limits::file_bytes + 1);
  if (text.size() > limits::file_bytes) {
    throw Error(ErrorKind::case_file, fmt::format("{}: this file is larger than {} KiB, which no case is",
                                                  name, limits::file_bytes / 1024));
  }
  return text;
}

/// Whether a file claims to be a case by its name; only then may a message quote from it what is no TOML.
bool is_named_as_case(const fs::path& real, const fs::path& name) {
  return real.extension() == ".toml" && name.extension() == ".toml";
}

bool is_blank(const std::string& text) {
  return text.find_first_not_of(" \t\r\n") == std::string::npos;
}

/// A base as a file asks for it.
struct Base {
  std::string path;
  toml::source_position place;
};

/// Collects the files of a case. Their reversed order of completion puts every file above all that it builds
/// on, and a file that several build on below them all.
class Collector {
 public:
  Collector(fs::path own_folder, const fs::path& shipped)
      : shipped_(real_path(shipped)), shipped_name_(shipped), own_folder_(std::move(own_folder)) {
    // The parent is the usual home of shared parts (runs/ beside bikes/), but the root of the file system is
    // none.
    if (!own_folder_.empty() && own_folder_.parent_path() != own_folder_.root_path()) {
      top_folder_ = own_folder_.parent_path();
    } else {
      top_folder_ = own_folder_;
    }
  }

  void add(const fs::path& real, const fs::path& name) { add_text(read_text(real, shown(name)), real, name); }

  void add_text(std::string text, const fs::path& real, const fs::path& name) {
    bytes_ += text.size();
    if (bytes_ > limits::case_bytes) {
      throw Error(ErrorKind::case_file,
                  fmt::format("{}: with this file the case is larger than {} KiB in all, which no case is",
                              shown(name), limits::case_bytes / 1024));
    }
    Layer layer;
    layer.name = shown(name);
    layer.source = source_of(real, name);
    layer.text = std::move(text);
    layer.table = parse_toml(layer.text, layer.name, real.empty() || is_named_as_case(real, name));
    chain_.push_back(real);
    for (const Base& base : bases_of(layer)) add_base(layer, base, name);
    chain_.pop_back();
    done_.push_back(real);
    layers_.push_back(std::move(layer));
  }

  std::vector<Layer> take() {
    std::reverse(layers_.begin(), layers_.end());
    return std::move(layers_);
  }

 private:
  std::string source_of(const fs::path& real, const fs::path& name) const {
    for (const fs::path& folder : {shipped_, top_folder_}) {
      if (!real.empty() && lies_below(real, folder)) return shown(real.lexically_relative(folder));
    }
    return shown(name.filename());
  }

  /// Whether a part of the path begins with a dot, below the folder that bases may come from.
  bool is_hidden(const fs::path& real) const {
    const fs::path& folder = lies_below(real, shipped_) ? shipped_ : top_folder_;
    const fs::path below = real.lexically_relative(folder);
    return std::any_of(below.begin(), below.end(),
                       [](const fs::path& part) { return part.native().starts_with('.'); });
  }

  [[noreturn]] static void refuse(const Layer& layer, const toml::source_position& place,
                                  const std::string& what) {
    throw Error(ErrorKind::case_file, fmt::format("{}:{}:{}: {}\n{}", layer.name, place.line, place.column,
                                                  what, caret(layer.text, place.line, place.column)));
  }

  static std::vector<Base> bases_of(const Layer& layer) {
    const toml::node* node = layer.table.get("base");
    if (node == nullptr) return {};
    std::vector<Base> bases;
    const auto add_one = [&](const toml::node& entry) {
      if (!entry.is_string()) {
        refuse(layer, entry.source().begin,
               "base is not a path; name one file, base = \"bikes/mule.toml\", or an array of them");
      }
      bases.push_back({entry.as_string()->get(), entry.source().begin});
    };
    if (const auto* array = node->as_array()) {
      for (const auto& entry : *array) add_one(entry);
    } else {
      add_one(*node);
    }
    return bases;
  }

  void add_base(const Layer& layer, const Base& base, const fs::path& named_by) {
    const std::string quoted = fmt::format("base = \"{}\"", clipped(base.path, limits::excerpt_chars));
    const fs::path wanted(base.path);
    if (base.path.empty() || base.path.find('\0') != std::string::npos) {
      refuse(layer, base.place, quoted + ": this is no path; name a file such as \"bikes/mule.toml\"");
    }
    if (wanted.is_absolute()) {
      refuse(layer, base.place,
             quoted + ": this path is absolute; give it relative to this file or to the shipped cases");
    }
    fs::path name;
    fs::path real;
    const auto seek = [&](const fs::path& beside, const fs::path& shown_beside) {
      fs::path path = wanted;
      real = real_path(beside / path);
      if (real.empty() || !other_than_a_file(real).empty()) {  // the ending may be left out
        path += ".toml";
        if (const fs::path ended = real_path(beside / path); !ended.empty())
          real = ended;
        else
          path = wanted;
      }
      name = (shown_beside / path).lexically_normal();
    };
    if (!chain_.back().empty()) seek(chain_.back().parent_path(), named_by.parent_path());
    if (real.empty() && !shipped_.empty()) seek(shipped_, shipped_name_);
    const bool inside =
        lies_below(real, own_folder_) || lies_below(real, top_folder_) || lies_below(real, shipped_);
    if (!real.empty() && !inside) {
      refuse(layer, base.place,
             quoted +
                 ": this leads outside the folder of the case, the folder above it and the "
                 "shipped cases; keep the files that a case builds on there");
    }
    if (real.empty()) {
      refuse(layer, base.place,
             fmt::format("{}: there is no such file, neither beside this one nor among the shipped cases{}",
                         quoted, shipped_.empty() ? "" : " in " + shown(shipped_name_)));
    }
    if (const auto kind = other_than_a_file(real); !kind.empty())
      refuse(layer, base.place, fmt::format("{}: this is {}; give the path of a case in TOML", quoted, kind));
    if (!is_named_as_case(real, name) || is_hidden(real)) {
      refuse(layer, base.place,
             quoted +
                 ": this is no case by its name; a file that a case builds on ends in .toml and lies in no "
                 "hidden folder");
    }
    if (std::find(chain_.begin(), chain_.end(), real) != chain_.end()) {
      refuse(layer, base.place,
             quoted + ": this file builds on itself, by way of its bases; break the circle");
    }
    if (std::find(done_.begin(), done_.end(), real) != done_.end()) return;
    if (static_cast<int>(chain_.size()) > limits::base_depth) {
      refuse(layer, base.place,
             fmt::format("{}: bases follow one another more than {} deep; merge some", quoted,
                         limits::base_depth));
    }
    if (done_.size() + chain_.size() >= limits::files) {
      refuse(layer, base.place,
             fmt::format("{}: a case may have at most {} files; merge some", quoted, limits::files));
    }
    add(real, name);
  }

  fs::path shipped_;       // with links followed
  fs::path shipped_name_;  // as configured, for messages
  fs::path own_folder_;
  fs::path top_folder_;
  std::vector<fs::path> chain_;  // files being read, each the base of the one before; empty path: from memory
  std::vector<fs::path> done_;
  std::vector<Layer> layers_;
  std::size_t bytes_ = 0;  // of all files so far
};

Layer read_set(const std::string& set) {
  const std::string quoted = clipped(set, limits::excerpt_chars);
  if (set.size() > limits::set_bytes) {
    throw Error(ErrorKind::input, fmt::format("--set {}: this is longer than {} KiB; put it into a case file",
                                              quoted, limits::set_bytes / 1024));
  }
  const std::size_t equals = set.find('=');
  std::string path = set.substr(0, equals);
  path.erase(0, path.find_first_not_of(' '));
  path.erase(path.find_last_not_of(' ') + 1);
  if (equals == std::string::npos || !is_plain_key(path)) {
    throw Error(ErrorKind::input, fmt::format("--set {}: this is not key.path=VALUE; write for example --set "
                                              "\"carburetor.main.jet.bore=1.25 mm\"",
                                              quoted));
  }
  if (path == "base" || path.starts_with("base.")) {
    throw Error(ErrorKind::input, "--set " + quoted + ": base cannot be set; name it in a case file");
  }
  if (static_cast<std::size_t>(std::count(path.begin(), path.end(), '.')) >= limits::nesting) {
    throw Error(ErrorKind::input,
                fmt::format("--set {}: a key has at most {} parts", quoted, limits::nesting));
  }
  Layer layer;
  layer.is_set = true;
  layer.name = "--set " + path;
  layer.source = "--set";
  std::string value = set.substr(equals + 1);
  value.erase(0, value.find_first_not_of(' '));
  value.erase(value.find_last_not_of(' ') + 1);
  layer.text = value;
  layer.table = parse_value(value);
  // The value moves from the innermost table outward, one table per part of its path.
  std::string rest = path;
  toml::table inner;
  std::size_t dot = rest.rfind('.');
  inner.insert(rest.substr(dot == std::string::npos ? 0 : dot + 1), std::move(*layer.table.get("value")));
  while (dot != std::string::npos) {
    rest.erase(dot);
    dot = rest.rfind('.');
    toml::table outer;
    outer.insert(rest.substr(dot == std::string::npos ? 0 : dot + 1), std::move(inner));
    inner = std::move(outer);
  }
  layer.table = std::move(inner);
  return layer;
}

std::vector<Layer> read_sets(const std::vector<std::string>& sets) {
  if (sets.size() > limits::sets) {
    throw Error(ErrorKind::input,
                fmt::format("--set is given {} times, more than the {} allowed; put the values into "
                            "a case file",
                            sets.size(), limits::sets));
  }
  std::vector<Layer> layers;
  for (auto set = sets.rbegin(); set != sets.rend(); ++set) layers.push_back(read_set(*set));
  return layers;
}

std::vector<Layer> stacked(std::vector<Layer> top, std::vector<Layer> bottom) {
  for (Layer& layer : bottom) top.push_back(std::move(layer));
  return top;
}

/// The case itself stands above all that it builds on.
void mark_main(std::vector<Layer>& layers) {
  layers.front().is_main = true;
  layers.front().lines = lines_by_key(layers.front().text);
}

}  // namespace

fs::path shipped_cases() {
  for (const char* folder : {GLASSBOWL_SOURCE_CASES, GLASSBOWL_INSTALLED_CASES}) {
    std::error_code error;
    if (fs::is_directory(folder, error)) return folder;
  }
  return {};
}

Layers::Layers(std::string name, std::vector<Layer> layers)
    : name_(std::move(name)), layers_(std::make_shared<const std::vector<Layer>>(std::move(layers))) {}

Layers Layers::read(const fs::path& file, const std::vector<std::string>& sets, const fs::path& shipped) {
  std::vector<Layer> top = read_sets(sets);
  const fs::path real = real_path(file);
  if (real.empty()) throw Error(ErrorKind::case_file, shown(file) + ": there is no such file");
  Collector collector(real.parent_path(), shipped);
  collector.add(real, file);
  std::vector<Layer> layers = collector.take();
  mark_main(layers);
  if (std::all_of(layers.begin(), layers.end(), [](const Layer& layer) { return is_blank(layer.text); }))
    throw Error(ErrorKind::case_file, shown(file) +
                                          ": this file is empty; a case begins for example with base = "
                                          "\"bikes/mule_750.toml\"");
  return {shown(file), stacked(std::move(top), std::move(layers))};
}

Layers Layers::parse(std::string text, std::string name, const std::vector<std::string>& sets,
                     const fs::path& shipped) {
  std::vector<Layer> top = read_sets(sets);
  if (text.size() > limits::file_bytes) {
    throw Error(ErrorKind::case_file, fmt::format("{}: this text is larger than {} KiB, which no case is",
                                                  shown(name), limits::file_bytes / 1024));
  }
  Collector collector({}, shipped);
  collector.add_text(std::move(text), {}, name);
  std::vector<Layer> layers = collector.take();
  mark_main(layers);
  return {shown(name), stacked(std::move(top), std::move(layers))};
}

std::vector<std::string> Layers::files() const {
  std::vector<std::string> names;
  for (const Layer& layer : *layers_) {
    if (!layer.is_set) names.push_back(layer.name);
  }
  return names;
}

}  // namespace glassbowl::sim
