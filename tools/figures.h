#pragma once
// Figures, drawn by matplotlib: the program carries the script and runs it with Debian's Python.
#include <filesystem>
#include <string>

#include "results/read_file.h"

namespace catoptra {

/// Draws the result's figures as STEM-flux.FORMAT and the like, format png, svg or pdf, and prints their names; false
/// where the script could not, which it has then explained on stderr. Throws std::runtime_error where Python is
/// missing.
bool draw_figures(const StoredFile& file, const std::filesystem::path& stem, const std::string& format);

}  // namespace catoptra
