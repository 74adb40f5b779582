#pragma once

#include <filesystem>

namespace glassbowl::sim {

/// Throws Error{file} naming the package where the browser that prints is missing.
void require_printer();

/// Prints a page to a PDF file by a browser without a window. Throws Error{file}.
void print_pdf(const std::filesystem::path& page, const std::filesystem::path& pdf);

}  // namespace glassbowl::sim
