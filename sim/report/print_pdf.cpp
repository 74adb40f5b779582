#include "sim/report/print_pdf.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdlib>
#include <sstream>
#include <string>
#include <vector>

#include "sim/api/error.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

constexpr const char* browser = "chromium";
constexpr const char* patience = "120";  // [s]

bool on_path(const char* program) {
  const char* path = std::getenv("PATH");
  std::istringstream folders(path != nullptr ? path : "");
  for (std::string folder; std::getline(folders, folder, ':');)
    if (access((fs::path(folder) / program).c_str(), X_OK) == 0) return true;
  return false;
}

/// Runs a program without a shell, silently; its exit code, or -1.
int run_silently(const std::vector<std::string>& words) {
  std::vector<char*> argv;
  for (const auto& word : words) argv.push_back(const_cast<char*>(word.c_str()));
  argv.push_back(nullptr);
  const pid_t child = fork();
  if (child == 0) {
    const int nowhere = open("/dev/null", O_RDWR);
    for (const int descriptor : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO}) dup2(nowhere, descriptor);
    execvp(argv[0], argv.data());
    _exit(127);
  }
  int status = 0;
  if (child < 0 || waitpid(child, &status, 0) != child || !WIFEXITED(status)) return -1;
  return WEXITSTATUS(status);
}

}  // namespace

void require_printer() {
  if (!on_path(browser))
    throw Error(ErrorKind::file, fmt::format("a PDF needs {0}, which is not installed (package {0}); without "
                                             "--pdf the page is made all the same and any browser prints it",
                                             browser));
}

void print_pdf(const fs::path& page, const fs::path& pdf) {
  require_printer();
  std::string home = (fs::temp_directory_path() / "glassbowl-print-XXXXXX").string();
  if (mkdtemp(home.data()) == nullptr) throw Error(ErrorKind::file, "no temporary folder for printing");
  std::vector<std::string> words{"timeout",
                                 patience,
                                 browser,
                                 "--headless",
                                 "--disable-gpu",
                                 "--disable-dev-shm-usage",
                                 "--no-pdf-header-footer",
                                 "--user-data-dir=" + home,
                                 "--print-to-pdf=" + fs::absolute(pdf).string()};
  if (geteuid() == 0) words.emplace_back("--no-sandbox");  // it refuses its own cage as root
  words.push_back(fs::absolute(page).string());
  const int code = run_silently(words);
  std::error_code ignored;
  fs::remove_all(home, ignored);
  if (code != 0 || !fs::exists(pdf, ignored))
    throw Error(ErrorKind::file,
                fmt::format("{}: {} could not print it; {} is there and any browser prints it", pdf.string(),
                            browser, page.string()));
}

}  // namespace glassbowl::sim
