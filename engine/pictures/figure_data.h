#pragma once
// What the script that draws figures (tools/program/figures.py) reads.
#include <string>

#include "files/read_file.h"

namespace catoptra {

/// One JSON object: the figures' `format`, `data` as file_json() has it, and `around_m`: for each receiver that is
/// unrolled the radius half way up, by which azimuths become lengths.
std::string figures_json(const StoredFile& file, const std::string& format);

}  // namespace catoptra
