#pragma once
// How a run's work is cut.
#include <algorithm>
#include <cstdint>

namespace catoptra {

inline constexpr std::uint64_t chunk_bundles = 64;  // one piece of work: some milliseconds

/// Pieces of each replicate between two commits. All threads wait for the last piece of a pass, half a piece on
/// average. With 64 pieces for each thread that wait is a hundredth of the pass.
inline std::uint64_t largest_pass_chunks(int threads, int replicates) {
  constexpr std::uint64_t least = 16, of_a_thread = 64;
  return std::max(least, of_a_thread * static_cast<std::uint64_t>(threads) / static_cast<std::uint64_t>(replicates));
}

}  // namespace catoptra
