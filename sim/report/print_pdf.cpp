#include "sim/report/print_pdf.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <cstdlib>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "sim/api/error.hpp"
#include "sim/api/new_file.hpp"
#include "sim/report/run_program.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

constexpr const char* browser = "chromium";
constexpr const char* patience = "120";  // [s]

/// A folder of nobody else's, gone with the object.
class OwnFolder {
 public:
  OwnFolder() {
    std::string name = (fs::absolute(fs::temp_directory_path()) / "glassbowl-print-XXXXXX").string();
    if (mkdtemp(name.data()) == nullptr)
      throw Error(ErrorKind::file, fmt::format("{}: no temporary folder for printing can be made", name));
    path_ = name;
  }
  ~OwnFolder() {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
  }
  OwnFolder(const OwnFolder&) = delete;
  OwnFolder& operator=(const OwnFolder&) = delete;
  fs::path operator/(const char* name) const { return path_ / name; }

 private:
  fs::path path_;
};

}  // namespace

void require_printer() {
  if (!on_path(browser))
    throw Error(ErrorKind::file, fmt::format("a PDF needs {0}, which is not installed (package {0}); without "
                                             "--pdf the page is made all the same and any browser prints it",
                                             browser));
}

void print_pdf(const std::string& page, const fs::path& pdf, bool replace) {
  require_printer();
  check_output(pdf, replace);
  // Only names that are ours go to the browser, which takes some for options or addresses.
  const OwnFolder folder;
  write_new_file(folder / "page.html", false, page);
  std::vector<std::string> words{"timeout",
                                 patience,
                                 browser,
                                 "--headless",
                                 "--disable-gpu",
                                 "--disable-dev-shm-usage",
                                 "--no-pdf-header-footer",
                                 "--user-data-dir=" + (folder / "profile").string(),
                                 "--print-to-pdf=" + (folder / "page.pdf").string()};
  if (geteuid() == 0) words.emplace_back("--no-sandbox");  // it refuses its own cage as root
  words.push_back((folder / "page.html").string());
  const ProgramEnd end = run_program(words, "");
  std::ostringstream printed;
  printed << std::ifstream(folder / "page.pdf", std::ios::binary).rdbuf();
  if (end.code != 0 || printed.str().find("%%EOF") == std::string::npos)
    throw Error(ErrorKind::file,
                fmt::format("{}: {} could not print it; the page is there and any browser prints it",
                            pdf.string(), browser));
  write_new_file(pdf, replace, printed.str());
}

}  // namespace glassbowl::sim
