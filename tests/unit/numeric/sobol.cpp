// Scrambled Sobol points: strata and nets hold exactly, whatever the seed; over seeds each point is uniform.
#include "numeric/sobol.h"

#include <boost/math/distributions/chi_squared.hpp>
#include <catch2/catch.hpp>
#include <cmath>
#include <set>
#include <vector>

#include "support/broken_promise.h"

using namespace catoptra;

namespace {

std::vector<double> points(std::uint64_t seed, int dimension, std::uint64_t first, std::size_t count, int shift = 0) {
  std::vector<double> out(count);
  scrambled_sobol(seed, dimension, {first, shift}, out);
  return out;
}

/// Chance of a chi-square as large as that of these values in 64 equal bins of (0, 1).
double chance_of_even(const std::vector<double>& values) {
  constexpr std::size_t bins = 64;
  std::vector<double> counted(bins, 0);
  for (const double x : values) ++counted.at(static_cast<std::size_t>(x * bins));
  const double expected = static_cast<double>(values.size()) / bins;
  double sum = 0;
  for (const double n : counted) sum += (n - expected) * (n - expected) / expected;
  return boost::math::cdf(boost::math::complement(boost::math::chi_squared(bins - 1), sum));
}

double correlation(const std::vector<double>& a, const std::vector<double>& b) {
  double sum = 0;
  for (std::size_t i = 0; i < a.size(); ++i) sum += (a[i] - 0.5) * (b[i] - 0.5);
  return 12 * sum / static_cast<double>(a.size());  // a uniform's variance is 1/12
}

}  // namespace

TEST_CASE("sobol: every aligned block of 2^k points has one in each of 2^k strata", "[sobol]") {
  for (const std::uint64_t seed : {1u, 77u}) {
    for (int d = 0; d < sobol_dimensions; ++d) {
      INFO("dimension " << d);
      int crowded = 0;
      for (int k = 3; k <= 12; ++k) {
        const std::size_t size = std::size_t{1} << k;
        for (const std::uint64_t block : {0u, 1u, 5u, 1022u}) {
          const auto x = points(seed, d, block * size, size);
          std::set<std::size_t> strata;
          for (const double value : x) strata.insert(static_cast<std::size_t>(value * static_cast<double>(size)));
          crowded += strata.size() != size;
        }
      }
      // Half a block of one scramble and half of another do not belong together.
      const auto x = points(seed, d, 0, 128), y = points(seed + 1, d, 128, 128);
      std::set<int> strata;
      for (std::size_t i = 0; i < 128; ++i) {
        strata.insert(static_cast<int>(x[i] * 256));
        strata.insert(static_cast<int>(y[i] * 256));
      }
      CHECK(crowded == 0);
      CHECK(strata.size() < 256);
    }
  }
}

TEST_CASE("sobol: the first two dimensions are a (0, m, 2)-net", "[sobol]") {
  // Exactly one point in every box 2^-a x 2^-(m - a): H. Niederreiter, Random Number Generation and Quasi-Monte Carlo
  // Methods (1992), chapter 4; Owen's scramble keeps it (A. B. Owen, 1995).
  const auto is_net = [](int m, int d, int e) {
    const std::size_t size = std::size_t{1} << m;
    const auto x = points(9, d, 0, size), y = points(9, e, 0, size);
    for (int a = 0; a <= m; ++a) {
      std::set<std::pair<int, int>> boxes;
      for (std::size_t i = 0; i < size; ++i) {
        boxes.emplace(static_cast<int>(std::ldexp(x[i], a)), static_cast<int>(std::ldexp(y[i], m - a)));
      }
      if (boxes.size() != size) return false;
    }
    return true;
  };
  for (const int m : {3, 6, 8, 11}) CHECK(is_net(m, 0, 1));
  CHECK_FALSE(is_net(8, 0, 0));
}

TEST_CASE("sobol: blocks with a shift hold the same points", "[sobol]") {
  for (const int d : {0, 1, 7, 23}) {
    std::vector<double> plain;
    for (std::uint64_t block = 0; block < 64; ++block) {
      for (const double x : points(5, d, 256 * block, 256)) plain.push_back(x);
    }
    for (const int shift : {1, 3, 5}) {
      for (const std::uint64_t first : {std::uint64_t{0}, std::uint64_t{1}, std::uint64_t{1} << (8 + shift)}) {
        const auto some = points(5, d, first, 256, shift);
        bool same = true;
        for (std::size_t j = 0; j < 256; ++j) same = same && some[j] == plain[first + (j << shift)];
        CHECK(same);
      }
    }
    CHECK(points(5, d, 64, 64) == std::vector<double>(plain.begin() + 64, plain.begin() + 128));
    CHECK(points(6, d, 64, 64) != std::vector<double>(plain.begin() + 64, plain.begin() + 128));
  }
}

TEST_CASE("sobol: samples beyond 2^32 are fresh", "[sobol]") {
  const auto low = points(3, 2, 0, 256), high = points(3, 2, std::uint64_t{1} << 32, 256);
  int equal = 0;
  for (std::size_t i = 0; i < 256; ++i) equal += low[i] == high[i];
  CHECK(equal < 3);
}

TEST_CASE("sobol: open interval, odd multiples of 2^-33", "[sobol]") {
  for (int d = 0; d < sobol_dimensions; ++d) {
    for (const double x : points(11, d, 4096, 4096)) {
      const double steps = std::ldexp(x, 33);
      if (!(x > 0 && x < 1 && steps == std::floor(steps) && std::fmod(steps, 2) == 1)) FAIL("point " << x);
    }
  }
  SUCCEED();
}

TEST_CASE("sobol: seeds and dimensions are not correlated", "[sobol]") {
  constexpr std::size_t seeds = 8192;
  const double limit = 5 / std::sqrt(static_cast<double>(seeds));
  for (int d = 0; d < sobol_dimensions; ++d) {
    INFO("dimension " << d);
    std::vector<double> here(seeds), next_seed(seeds), next_dimension(seeds);
    for (std::size_t s = 0; s < seeds; ++s) {
      here[s] = points(1000 + s, d, 0, 8)[0];
      next_seed[s] = points(1001 + s, d, 0, 8)[0];
      next_dimension[s] = points(1000 + s, (d + 1) % sobol_dimensions, 0, 8)[0];
    }
    CHECK(std::fabs(correlation(here, next_seed)) < limit);
    CHECK(std::fabs(correlation(here, next_dimension)) < limit);
    CHECK(std::fabs(correlation(here, here)) > limit);
  }
}

// A random digital shift by a key of its own makes each point even exactly. Adding and multiplying by keys alone does
// not: too few of their bits reach the first digits (point 0 then has the mean 0.459).
TEST_CASE("sobol: over seeds each point is even in (0, 1)", "[sobol]") {
  constexpr std::size_t seeds = 8192;
  for (int d = 0; d < sobol_dimensions; ++d) {
    INFO("dimension " << d);
    std::vector<double> zeroth(seeds), fourth(seeds);
    for (std::size_t s = 0; s < seeds; ++s) {
      const auto x = points(1000 + s, d, 0, 8);
      zeroth[s] = x[0];
      fourth[s] = x[4];
    }
    CHECK(chance_of_even(zeroth) > 1e-6);
    CHECK(chance_of_even(fourth) > 1e-6);
  }
}

TEST_CASE("sobol: the mean of N points has the variance of N independent strata", "[sobol]") {
  // Owen's scramble puts each point uniformly into its own stratum of width 1/N, all independent: the variance of the
  // mean is 1 / (12 N^3) (A. B. Owen, Ann. Stat. 25 (1997) 1541). Sums of 64 uniforms are Gaussian enough: a
  // chi-square.
  constexpr int seeds = 4000;
  constexpr double N = 64;
  for (const int d : {0, 1, 2, 5, 11, 23}) {
    INFO("dimension " << d);
    double sum = 0;
    for (int s = 0; s < seeds; ++s) {
      double mean = 0;
      for (const double x : points(static_cast<std::uint64_t>(s), d, 0, 64)) mean += x / N;
      sum += (mean - 0.5) * (mean - 0.5) * 12 * N * N * N;
    }
    CHECK(std::fabs(sum / seeds - 1) < 5 * std::sqrt(2.0 / seeds));
    CHECK(std::fabs(1.2 * sum / seeds - 1) > 5 * std::sqrt(2.0 / seeds));
  }
}

TEST_CASE("philox: known answer", "[philox]") {
  // Philox4x32-10 of counter 0 and key 0 is 6627e8d5 e169c58d bc57ac4c 9b00dbd8 (Random123's file of known answers;
  // from memory). Two words make 52 bits and a half step.
  const auto uniform = [](std::uint64_t high, std::uint64_t low) {
    return (static_cast<double>((high << 20) | (low >> 12)) + 0.5) * 0x1p-52;
  };
  const auto got = philox_pair(0, 0, 0);
  CHECK(got[0] == uniform(0x6627e8d5, 0xe169c58d));
  CHECK(got[1] == uniform(0xbc57ac4c, 0x9b00dbd8));
}

TEST_CASE("philox: even, and apart by seed, sample and stream", "[philox]") {
  std::vector<double> a, b, other_seed, other_stream;
  for (std::uint64_t i = 0; i < 65536; ++i) {
    a.push_back(philox_pair(1, i, 2)[0]);
    b.push_back(philox_pair(1, i, 2)[1]);
    other_seed.push_back(philox_pair(2, i, 2)[0]);
    other_stream.push_back(philox_pair(1, i, 3)[0]);
  }
  CHECK(chance_of_even(a) > 1e-6);
  CHECK(chance_of_even(b) > 1e-6);
  std::vector<double> bent = a;
  for (double& x : bent) x = std::pow(x, 1.05);
  CHECK(chance_of_even(bent) < 1e-6);
  for (const auto* other : {&b, &other_seed, &other_stream}) CHECK(std::fabs(correlation(a, *other)) < 5 / 256.0);
  CHECK(philox_pair(1, 5, 2) == philox_pair(1, 5, 2));
  CHECK(philox_pair(1, 5, 2) != philox_pair(1, std::uint64_t{5} << 32, 2));
}

TEST_CASE("sobol: blocks that are no blocks break a promise", "[sobol][expects]") {
  std::vector<double> eight(8), nine(9);
  CHECK(catoptra::test::is_refused([&] { scrambled_sobol(1, sobol_dimensions, {}, eight); }));
  CHECK(catoptra::test::is_refused([&] { scrambled_sobol(1, 0, {}, nine); }));
  CHECK(catoptra::test::is_refused([&] { scrambled_sobol(1, 0, {4, 0}, eight); }));
  CHECK_NOTHROW(scrambled_sobol(1, 0, {8, 0}, eight));
}
