#include "study/points.h"

#include <algorithm>
#include <bit>
#include <numeric>
#include <stdexcept>
#include <utility>

#include "numeric/sobol.h"

namespace catoptra {
namespace {

/// Uniform numbers in an order of their own, from a counter.
class Uniforms {
 public:
  Uniforms(std::uint64_t seed, std::size_t column) : seed_(seed), stream_(static_cast<std::uint32_t>(column)) {}
  double operator()() { return philox_pair(seed_, count_++, stream_)[0]; }

 private:
  std::uint64_t seed_, count_ = 0;
  std::uint32_t stream_;
};

void require_sobol(std::size_t points, std::size_t parameters) {
  if (parameters > static_cast<std::size_t>(sobol_dimensions))
    throw std::invalid_argument("more parameters than Sobol's sequence has dimensions here");
  if (points > (std::uint64_t{1} << 32)) throw std::invalid_argument("more points than Sobol's sequence has here");
}

std::uint32_t reversed_bits(std::uint32_t x) {
  std::uint32_t out = 0;
  for (int bit = 0; bit < 32; ++bit) out |= ((x >> bit) & 1U) << (31 - bit);
  return out;
}

}  // namespace

UnitPoints latin_hypercube(std::size_t points, std::size_t parameters, std::uint64_t seed) {
  UnitPoints out(points, std::vector<double>(parameters));
  std::vector<std::size_t> strata(points);
  for (std::size_t column = 0; column < parameters; ++column) {
    Uniforms uniform(seed, column);
    std::iota(strata.begin(), strata.end(), std::size_t{0});
    // Fisher and Yates' shuffle (Knuth, The Art of Computer Programming 2, algorithm 3.4.2 P). The bias of a product
    // that is cut to a whole number is n / 2^52.
    for (std::size_t left = points; left > 1; --left)
      std::swap(strata[left - 1], strata[static_cast<std::size_t>(uniform() * static_cast<double>(left))]);
    for (std::size_t row = 0; row < points; ++row)
      out[row][column] = (static_cast<double>(strata[row]) + uniform()) / static_cast<double>(points);
  }
  return out;
}

UnitPoints sobol_points(std::size_t points, std::size_t parameters, std::uint64_t seed) {
  require_sobol(points, parameters);
  UnitPoints out(points, std::vector<double>(parameters));
  std::vector<double> column(std::max<std::size_t>(8, std::bit_ceil(points)));
  for (std::size_t k = 0; k < parameters; ++k) {
    scrambled_sobol(seed, static_cast<int>(k), {}, column);
    for (std::size_t row = 0; row < points; ++row) out[row][k] = column[row];
  }
  return out;
}

UnitPoints plain_sobol_points(std::size_t points, std::size_t parameters) {
  require_sobol(points, parameters);
  UnitPoints out(points, std::vector<double>(parameters));
  for (std::size_t row = 0; row < points; ++row)
    for (std::size_t k = 0; k < parameters; ++k)
      out[row][k] = 0x1p-32 * reversed_bits(sobol_matrices().reversed(static_cast<int>(k), row));
  return out;
}

}  // namespace catoptra
