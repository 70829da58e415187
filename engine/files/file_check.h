#pragma once
// Whether a result file is still as it was written: a line of text at its end holds the length and the checksum of all
// bytes before it. HDF5 readers do not look beyond the end that the file's head names, so they open it as any other.
#include <cstddef>
#include <span>
#include <string>

namespace catoptra {

/// The line for a file of these bytes: file_check_size characters, with the CRC-32 of ISO 3309 (that of zlib, gzip and
/// PNG). docs/result-schema.md shows how to compute it without this program.
std::string file_check(std::span<const std::byte> bytes);
inline constexpr std::size_t file_check_size = 64;

enum class FileState {
  sound,    // as it was written
  unknown,  // without such a line: from an older version, or another program has changed it
  damaged,  // the line does not fit the bytes
};

/// Reads the whole file, in pieces. Throws std::runtime_error with the path and the system's words where it can't.
FileState state_of_file(const std::string& path);

}  // namespace catoptra
