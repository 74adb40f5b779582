#include "sim/api/print_pdf.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "sim/api/error.hpp"
#include "sim/api/new_file.hpp"
#include "sim/api/own_folder.hpp"
#include "sim/report/run_program.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

constexpr const char* browser = "chromium";
constexpr const char* patience = "120";  // [s]

}  // namespace

void require_printer() {
  if (!on_path(browser))
    throw Error(ErrorKind::file,
                fmt::format("a PDF needs {0}, which is not installed (package {0}); "
                            "without it the page can be made as HTML, which any browser prints",
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
                fmt::format("{}: {} could not print it; any browser prints the same page made as HTML",
                            pdf.string(), browser));
  write_new_file(pdf, replace, printed.str());
}

}  // namespace glassbowl::sim
