#include "files/file_check.h"

#include <boost/crc.hpp>
#include <cerrno>
#include <fmt/format.h>
#include <fstream>
#include <stdexcept>
#include <string_view>
#include <system_error>
#include <vector>

namespace catoptra {
namespace {

constexpr std::string_view lead = "\ncatoptra: the ", tail_lead = " bytes before have CRC-32 ";

std::string line_of(std::uint64_t size, std::uint32_t crc) {
  return fmt::format("{}{:>14}{}{:08x}\n", lead, size, tail_lead, crc);
}

[[noreturn]] void fail(const std::string& path) {
  throw std::runtime_error(fmt::format("can't read '{}': {}", path, std::generic_category().message(errno)));
}

}  // namespace

std::string file_check(std::span<const std::byte> bytes) {
  boost::crc_32_type crc;
  crc.process_bytes(bytes.data(), bytes.size());
  return line_of(bytes.size(), crc.checksum());
}

FileState state_of_file(const std::string& path) {
  errno = 0;
  std::ifstream in(path, std::ios::binary | std::ios::ate);
  if (!in) fail(path);
  const auto end = static_cast<std::uint64_t>(in.tellg());
  if (end < file_check_size) return FileState::unknown;
  const std::uint64_t size = end - file_check_size;
  std::string last(file_check_size, '\0');
  in.seekg(static_cast<std::streamoff>(size));
  if (!in.read(last.data(), file_check_size)) fail(path);
  if (!last.starts_with(lead) || last.find(tail_lead) == std::string::npos) return FileState::unknown;
  in.seekg(0);
  boost::crc_32_type crc;
  std::vector<char> piece(1 << 20);
  for (std::uint64_t left = size; left > 0;) {
    const auto count = std::min<std::uint64_t>(left, piece.size());
    if (!in.read(piece.data(), static_cast<std::streamsize>(count))) fail(path);
    crc.process_bytes(piece.data(), count);
    left -= count;
  }
  return last == line_of(size, crc.checksum()) ? FileState::sound : FileState::damaged;
}

}  // namespace catoptra
