#pragma once
// Results side by side, as text for a terminal of 80 columns.
#include <span>
#include <string>

#include "files/read_file.h"

namespace catoptra {

/// Every number that the files share, a line a file, with its difference from the first file and that in standard
/// errors of the difference, as they are for independent runs. Of schedules: means over their suns, whose errors are
/// taken as if all suns shared their chances, so never too small. Throws NotAResult where an instant stands beside a
/// schedule.
std::string comparison_text(std::span<const StoredFile> files);

}  // namespace catoptra
