#pragma once

#include <filesystem>
#include <string>

namespace glassbowl::sim {

/// Throws Error{file} naming the package where the browser that prints is missing.
void require_printer();

/// Prints an HTML page to a PDF file by a browser without a window. Throws Error, also as `NewFile`.
void print_pdf(const std::string& page, const std::filesystem::path& pdf, bool replace);

}  // namespace glassbowl::sim
