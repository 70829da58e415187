#include "numeric/sobol.h"

#include <Random123/philox.h>
#include <algorithm>
#include <bit>
#include <boost/random/sobol.hpp>

#include "numeric/expects.h"

namespace catoptra {

namespace {

constexpr std::uint32_t reverse_bits(std::uint32_t x) {
  x = ((x >> 1) & 0x55555555u) | ((x & 0x55555555u) << 1);
  x = ((x >> 2) & 0x33333333u) | ((x & 0x33333333u) << 2);
  x = ((x >> 4) & 0x0f0f0f0fu) | ((x & 0x0f0f0f0fu) << 4);
  return __builtin_bswap32(x);
}

// Owen's scramble on the reversed bits. Every step is one-to-one and lets a bit act only on itself and on those above:
// adding, multiplying by an odd number, and x ^= x * even. Two keyed rounds: one leaves pairs of digits correlated.
constexpr std::uint32_t scramble_reversed(std::uint32_t x, std::uint32_t key_a, std::uint32_t key_b,
                                          std::uint32_t key_c) {
  x += key_a;
  x ^= x * 0x6c50b47cu;
  x *= key_b | 1u;
  x ^= x * 0xb82f1e52u;
  x += key_b;
  x ^= x * 0xc7afe638u;
  x *= key_a | 1u;
  x ^= x * 0x8d22f6e6u;
  // Too few of the rounds' key bits reach the first digits: without this last shift, by a key of its own, a point is
  // not uniform over the seeds, and a mean of few points is biased.
  return x ^ key_c;
}

}  // namespace

SobolMatrices::SobolMatrices() {
  // Boost walks the points in Gray-code order: point n is the sum of the columns in which n ^ (n >> 1) has a one, so
  // the points 2^k and 2^k - 1 differ by column k alone.
  boost::random::sobol_engine<std::uint32_t, 32> engine(sobol_dimensions);
  const auto point = [&](std::uint64_t n) {
    engine.seed();
    engine.discard((n - 1) * sobol_dimensions);  // the engine starts at point 1
    std::array<std::uint32_t, sobol_dimensions> out{};
    for (auto& coordinate : out) coordinate = engine();
    return out;
  };
  for (int bit = 0; bit < 32; ++bit) {
    const auto after = point(std::uint64_t{1} << bit);
    const auto before = bit == 0 ? std::array<std::uint32_t, sobol_dimensions>{} : point((std::uint64_t{1} << bit) - 1);
    for (int d = 0; d < sobol_dimensions; ++d) columns_[d][bit] = reverse_bits(after[d] ^ before[d]);
  }
}

std::uint32_t SobolMatrices::reversed(int dimension, std::uint64_t index) const {
  std::uint32_t out = 0;
  auto low = static_cast<std::uint32_t>(index);
  for (int bit = 0; low != 0; ++bit, low >>= 1) out ^= (low & 1) != 0 ? columns_[dimension][bit] : 0;
  return out;
}

const SobolMatrices& sobol_matrices() {
  static const SobolMatrices matrices;
  return matrices;
}

void scrambled_sobol(std::uint64_t seed, int dimension, SampleRange samples, std::span<double> out) {
  CATOPTRA_EXPECTS(dimension >= 0 && dimension < sobol_dimensions);
  CATOPTRA_EXPECTS(out.size() >= 8 && std::has_single_bit(out.size()));
  CATOPTRA_EXPECTS((samples.first & ((out.size() - 1) << samples.shift)) == 0);
  const SobolMatrices& matrices = sobol_matrices();
  const std::uint64_t key = mix(seed ^ mix(static_cast<std::uint64_t>(dimension) + 1)) ^ mix(samples.first >> 32);
  const std::uint64_t mixed = mix(key);
  const auto key_a = static_cast<std::uint32_t>(mixed), key_b = static_cast<std::uint32_t>(mixed >> 32);
  const auto key_c = static_cast<std::uint32_t>(mix(mixed));
  // Sobol's coordinates are linear in the index's bits over GF(2): eight lanes' share, the step's share, the block's.
  std::array<std::uint32_t, 8> lane{};
  for (std::uint32_t l = 0; l < 8; ++l) {
    for (int bit = 0; bit < 3; ++bit) {
      lane[l] ^= ((l >> bit) & 1u) != 0 ? matrices.column(dimension, bit + samples.shift) : 0;
    }
  }
  std::uint32_t block = matrices.reversed(dimension, samples.first);
  const std::size_t steps = out.size() / 8;
  for (std::size_t step = 0; step < steps; ++step) {
    double* const to = out.data() + 8 * step;
    for (std::size_t l = 0; l < 8; ++l) {
      const std::uint32_t x = reverse_bits(scramble_reversed(block ^ lane[l], key_a, key_b, key_c));
      // As a signed number, since there is an instruction for that; every step is exact.
      to[l] = (static_cast<double>(static_cast<std::int32_t>(x ^ 0x80000000u)) + 2147483648.5) * 0x1p-32;
    }
    // The next step's bits by Gray's rule: all trailing ones become zeros and the next bit a one.
    for (std::size_t bit = 0, carry = step + 1; bit < 61; ++bit, carry >>= 1) {
      block ^= matrices.column(dimension, static_cast<int>(bit) + 3 + samples.shift);
      if ((carry & 1) != 0 || step + 1 == steps) break;
    }
  }
}

std::array<double, 2> philox_pair(std::uint64_t seed, std::uint64_t sample, std::uint32_t stream) {
  const r123::Philox4x32::ctr_type counter{
      {static_cast<std::uint32_t>(sample), static_cast<std::uint32_t>(sample >> 32), stream, 0}};
  const r123::Philox4x32::key_type key{{static_cast<std::uint32_t>(seed), static_cast<std::uint32_t>(seed >> 32)}};
  const auto words = r123::Philox4x32{}(counter, key);
  const auto to_unit = [](std::uint32_t high, std::uint32_t low) {  // 52 bits and a half step: never 0 or 1
    const std::uint64_t bits = (static_cast<std::uint64_t>(high) << 20) ^ (low >> 12);
    return (static_cast<double>(bits) + 0.5) * 0x1p-52;
  };
  return {to_unit(words[0], words[1]), to_unit(words[2], words[3])};
}

}  // namespace catoptra
