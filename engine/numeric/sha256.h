#pragma once
// SHA-256 (FIPS 180-4): tells whether two texts are the same, and whether a file is as it was written.
#include <array>
#include <cstdint>
#include <string>
#include <string_view>

namespace catoptra {

using Sha256 = std::array<std::uint8_t, 32>;

Sha256 sha256(std::string_view bytes);
/// 64 digits.
std::string hex(const Sha256& digest);

}  // namespace catoptra
