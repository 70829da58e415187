#pragma once
// A file that exists whole or not at all.
#include <cstddef>
#include <filesystem>
#include <span>
#include <string_view>

namespace catoptra {

/// Throws std::runtime_error, with the path and the system's words, where `write_whole_file(path, …)` could not work:
/// no such folder, no right to write in it, or `path` names something other than a plain file. Leaves nothing behind.
void require_writable(const std::filesystem::path& path);

/// Writes `bytes` under a temporary name in the same folder, has the disk take them (fsync), then renames: whoever
/// opens `path` meets the old file or the whole new one. Throws std::runtime_error with the path and the system's
/// words; then `path` is as it was.
void write_whole_file(const std::filesystem::path& path, std::span<const std::byte> bytes);
void write_whole_file(const std::filesystem::path& path, std::string_view text);

}  // namespace catoptra
