#pragma once
// Sobol's points, scrambled as Owen does, by hashing: sample i of a run is a pure function of (seed, i).
//
// Sobol's first dimensions come from Boost (direction numbers of Joe and Kuo, SIAM J. Sci. Comput. 30 (2008) 2635).
// Owen's nested uniform scramble (J. Complexity 14 (1998) 466) flips each binary digit by a random function of the
// digits before it. A hash of the bit-reversed number in which a bit can change only the bits above it does the same
// (Laine and Karras, Comput. Graph. Forum 30 (2011) 1265; Burley, J. Comput. Graph. Tech. 9 (2020) no. 4).
#include <array>
#include <cstdint>
#include <span>

namespace catoptra {

/// A well mixed 64-bit hash (the finaliser of Steele, Lea and Flood's SplitMix, OOPSLA 2014).
constexpr std::uint64_t mix(std::uint64_t x) {
  x += 0x9e3779b97f4a7c15;
  x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9;
  x = (x ^ (x >> 27)) * 0x94d049bb133111eb;
  return x ^ (x >> 31);
}

inline constexpr int sobol_dimensions = 48;

/// Which samples a block of numbers is for: the indices `first` + (j << shift), j = 0 … count - 1.
/// `first` has zeros in the bits that j << shift fills.
struct SampleRange {
  std::uint64_t first = 0;
  int shift = 0;
};

/// Bits of the samples' points that stay the same over a block, and those that j adds: shared by all replicates.
class SobolMatrices {
 public:
  SobolMatrices();
  /// Bit-reversed coordinate of sample `index` (its low 32 bits): unscrambled.
  std::uint32_t reversed(int dimension, std::uint64_t index) const;
  std::uint32_t column(int dimension, int bit) const { return columns_[dimension][bit]; }

 private:
  std::array<std::array<std::uint32_t, 32>, sobol_dimensions> columns_{};  // bit-reversed generator matrices
};

/// The process's one table; built on first use.
const SobolMatrices& sobol_matrices();

/// Writes the scrambled coordinates of a block of samples, each uniform in (0, 1): odd multiples of 2^-33.
/// out.size() is a power of two, at least 8. Samples beyond 2^32 take a fresh scramble, so no point ever repeats.
void scrambled_sobol(std::uint64_t seed, int dimension, SampleRange samples, std::span<double> out);

/// A pair of independent uniforms in (0, 1) for dimensions past Sobol's: Philox 4x32-10, a counter-based generator
/// (Salmon et al., SC'11), from Random123.
std::array<double, 2> philox_pair(std::uint64_t seed, std::uint64_t sample, std::uint32_t stream);

}  // namespace catoptra
