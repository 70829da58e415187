#pragma once
// Figures, drawn by matplotlib: the program carries the script and runs it with Debian's Python.
#include <optional>
#include <string>
#include <vector>

#include "files/read_file.h"

namespace catoptra {

struct Figure {
  std::string shows;  // for its name: "flux", "budget", …
  std::string content;
};

/// The result's figures, format png, svg or pdf; none where the script could not draw them, which it has then explained
/// on stderr. Throws std::runtime_error where Python is missing.
std::optional<std::vector<Figure>> draw_figures(const StoredFile& file, const std::string& format);

}  // namespace catoptra
