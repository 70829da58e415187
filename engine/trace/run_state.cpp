#include "trace/run_state.h"

#include <bit>
#include <stdexcept>

namespace catoptra {
namespace {

[[noreturn]] void broken() {
  throw std::runtime_error("what was kept of a run breaks off");
}

}  // namespace

void ByteWriter::put(std::uint64_t number) {
  for (; number >= 0x80; number >>= 7) bytes_ += static_cast<char>((number & 0x7F) | 0x80);
  bytes_ += static_cast<char>(number);
}

void ByteWriter::put(double number) {
  const auto bits = std::bit_cast<std::uint64_t>(number);
  for (int i = 0; i < 8; ++i) bytes_ += static_cast<char>(bits >> 8 * i & 0xFF);
}

void ByteWriter::put(std::string_view text) {
  put(std::uint64_t{text.size()});
  bytes_.append(text);
}

std::uint64_t ByteReader::whole() {
  std::uint64_t out = 0;
  for (int shift = 0; shift < 64; shift += 7) {
    if (bytes_.empty()) broken();
    const auto byte = static_cast<std::uint8_t>(bytes_.front());
    bytes_.remove_prefix(1);
    out |= std::uint64_t{byte & 0x7Fu} << shift;
    if (byte < 0x80) return out;
  }
  broken();
}

double ByteReader::number() {
  if (bytes_.size() < 8) broken();
  std::uint64_t bits = 0;
  for (std::size_t i = 0; i < 8; ++i) bits |= std::uint64_t{static_cast<std::uint8_t>(bytes_[i])} << 8 * i;
  bytes_.remove_prefix(8);
  return std::bit_cast<double>(bits);
}

std::string_view ByteReader::text() {
  const std::uint64_t size = whole();
  if (size > bytes_.size()) broken();
  const std::string_view out = bytes_.substr(0, size);
  bytes_.remove_prefix(size);
  return out;
}

void put(const RunState& state, ByteWriter& to) {
  to.put(state.bundles_done);
  to.put(state.bundles_wanted);
  to.put(state.seconds);
  to.put(state.sums);
}

RunState run_state(ByteReader& from) {
  RunState out;
  out.bundles_done = from.whole();
  out.bundles_wanted = from.whole();
  out.seconds = from.number();
  out.sums = from.text();
  return out;
}

}  // namespace catoptra
