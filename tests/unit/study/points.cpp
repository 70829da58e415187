// Points of designs: strata, Sobol's sequence against scipy's, doubling, and what they are worth for a mean.
#include "study/points.h"

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <numeric>
#include <set>

#include "numeric/statistics.h"

using namespace catoptra;

namespace {

const std::vector<std::array<int, 8>> scipys_points{
#include "points_reference.inc"
};

}  // namespace

TEST_CASE("latin hypercube: each stratum once a column, others for another seed", "[study]") {
  for (const std::size_t n : {1, 2, 7, 16, 100}) {
    const UnitPoints points = latin_hypercube(n, 5, 3);
    REQUIRE(points.size() == n);
    for (std::size_t k = 0; k < 5; ++k) {
      std::set<int> strata;
      for (const auto& point : points) {
        CHECK((point[k] > 0 && point[k] < 1));
        strata.insert(static_cast<int>(std::floor(point[k] * static_cast<double>(n))));
      }
      CHECK(strata.size() == n);
    }
  }
  CHECK(latin_hypercube(16, 3, 1) == latin_hypercube(16, 3, 1));
  CHECK(latin_hypercube(16, 3, 1) != latin_hypercube(16, 3, 2));
  const UnitPoints points = latin_hypercube(16, 2, 1);
  CHECK(std::ranges::any_of(points, [](const auto& p) { return std::floor(16 * p[0]) != std::floor(16 * p[1]); }));
}

TEST_CASE("latin hypercube: means have the variance that strata leave", "[study]") {
  // For f = x each number is free within 1/n: n terms of variance 1/(12 n^2), divided by n^2.
  constexpr std::size_t n = 16, runs = 4000;
  std::vector<double> line, product;
  for (std::size_t run = 0; run < runs; ++run) {
    double sum = 0, of_products = 0;
    for (const auto& p : latin_hypercube(n, 2, 100 + run)) {
      sum += p[0];
      of_products += p[0] * p[1];
    }
    const double mean = sum / n - 0.5, mean_product = of_products / n - 0.25;
    line.push_back(mean * mean);
    product.push_back(mean_product * mean_product);
  }
  const Estimate line_variance = mean_of(line), product_variance = mean_of(product);
  const double wanted = 1.0 / (12.0 * n * n * n);
  CHECK(std::fabs(line_variance.value - wanted) < 5 * line_variance.standard_error);
  CHECK(std::fabs(line_variance.value - 1.3 * wanted) > 5 * line_variance.standard_error);  // it can fail
  // With x - 1/2 = a + e, a the middle of the stratum and e the rest: the additive part leaves the e alone, and two
  // shuffled lists of mean 0 have a sum of products of variance sum(a^2) sum(b^2) / (n - 1) (Hoeffding, Ann. Math.
  // Stat. 22 (1951) 558). To leading order 1/(144 n).
  const double a2 = (1 - 1.0 / (n * n)) / 12, e2 = 1.0 / (12 * n * n);
  const double wanted_product = e2 / (2 * n) + a2 * a2 / (n - 1) + (2 * a2 * e2 + e2 * e2) / n;
  CHECK(std::fabs(product_variance.value - wanted_product) < 5 * product_variance.standard_error);
  CHECK(std::fabs(product_variance.value - 1.2 * wanted_product) > 5 * product_variance.standard_error);
}

TEST_CASE("Sobol's points are scipy's, which takes them in the order of Gray's code", "[study]") {
  const UnitPoints points = plain_sobol_points(64, 8);
  for (std::size_t i = 0; i < 64; ++i)
    for (std::size_t k = 0; k < 8; ++k) CHECK(points[i ^ (i >> 1)][k] * 64 == scipys_points[i][k]);
}

TEST_CASE("Sobol's scrambled points: doubling keeps the old ones, and 2^m fill all boxes of volume 2^-m", "[study]") {
  for (const std::size_t n : {1, 3, 8, 50, 128}) {
    UnitPoints twice = sobol_points(2 * n, 6, 9);
    twice.resize(n);
    CHECK(twice == sobol_points(n, 6, 9));
  }
  CHECK(sobol_points(8, 2, 1) != sobol_points(8, 2, 2));
  // The first two dimensions are a (0, m, 2)-net in base 2 (Sobol 1967), which Owen's scramble keeps.
  for (const std::uint64_t seed : {1, 2, 3}) {
    const UnitPoints points = sobol_points(64, 2, seed);
    for (int split = 0; split <= 6; ++split) {
      std::set<std::pair<int, int>> boxes;
      for (const auto& p : points)
        boxes.emplace(static_cast<int>(std::ldexp(p[0], split)), static_cast<int>(std::ldexp(p[1], 6 - split)));
      CHECK(boxes.size() == 64);
    }
  }
  CHECK_THROWS_AS(sobol_points(8, 49, 1), std::invalid_argument);
}
