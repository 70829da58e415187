#pragma once
// The work of one scene written out by hand: what the engine's generality is measured against.
#include <cstdint>

namespace catoptra::benchmark {

struct BareResult {
  double intercept_factor = 0;
  double absorbed_share = 0;  // of incident power
  double peak_share = 0;      // of the arriving power, in the fullest bin: keeps the flux map alive
  double seconds = 0;
};

/// Spherical bowl, convex conic secondary, ball receiver; pillbox sun, slope errors on both mirrors, a 96 x 60 flux
/// map. One fused loop of lanes, plain pseudo-random numbers, no search, no budget, no error bars.
BareResult bare_bowl(std::uint64_t samples, std::uint64_t seed);

}  // namespace catoptra::benchmark
