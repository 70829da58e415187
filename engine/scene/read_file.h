#pragma once
// Files that a scene is made of: read whole, or refused with a place.
#include <array>
#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "scene/problem.h"

namespace catoptra {

inline constexpr std::size_t most_scene_bytes = std::size_t{64} << 20U;
inline constexpr const char* too_large_words = "larger than 64 MiB";

/// The bytes of a regular file of at most `most_scene_bytes`; throws std::runtime_error with the system's words.
std::string read_whole_file(const std::string& path);

/// A table of numbers: the first line must hold `columns`, parted by commas; each further line that is not empty, one
/// number a column. Rows in file order; none where anything was wrong, which goes to `problems`.
std::optional<std::vector<std::vector<double>>> read_csv(std::string_view text,
                                                         std::span<const std::string_view> columns, Problems& problems);

}  // namespace catoptra
