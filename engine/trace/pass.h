#pragma once
// How a run's work is cut.
#include <cstdint>

namespace catoptra {

inline constexpr std::uint64_t chunk_bundles = 64;        // one piece of work: some milliseconds
inline constexpr std::uint64_t largest_pass_chunks = 16;  // of each replicate, between two commits

}  // namespace catoptra
