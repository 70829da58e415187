// The best way through choices against all ways, tried one by one.
#include "steer/path.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "numeric/sobol.h"

using namespace catoptra;

namespace {

using Values = std::vector<std::vector<double>>;
using Cost = std::function<double(std::size_t, std::size_t, std::size_t)>;

double sum_of(const Values& values, const Cost& cost, const std::vector<std::size_t>& way) {
  double sum = 0;
  for (std::size_t i = 0; i < way.size(); ++i) sum += values[i][way[i]] - (i > 0 ? cost(i, way[i - 1], way[i]) : 0);
  return sum;
}

double best_of_all(const Values& values, const Cost& cost) {
  std::vector<std::size_t> way(values.size(), 0);
  double best = sum_of(values, cost, way);
  for (;;) {
    std::size_t i = 0;
    while (i < way.size() && ++way[i] == values[i].size()) way[i++] = 0;
    if (i == way.size()) return best;
    best = std::max(best, sum_of(values, cost, way));
  }
}

TEST_CASE("path: as good as the best of all ways", "[steer]") {
  for (std::uint64_t problem = 0; problem < 50; ++problem) {
    CAPTURE(problem);
    const auto draw = [&](std::uint64_t a, std::uint64_t b, std::uint64_t c) {
      return 0x1p-53 * static_cast<double>(mix(mix(mix(problem) ^ a) ^ mix(b) ^ (c << 32)) >> 11);
    };
    Values values(5);
    for (std::size_t i = 0; i < values.size(); ++i)
      for (std::size_t k = 0; k < 1 + mix(problem * 5 + i) % 4; ++k) values[i].push_back(draw(1, i, k));
    const Cost cost = [&](std::size_t i, std::size_t from, std::size_t to) { return draw(2 + i, from, to); };
    const auto way = best_path(values, cost);
    REQUIRE(way.size() == values.size());
    CHECK(sum_of(values, cost, way) == Approx(best_of_all(values, cost)).epsilon(1e-12));
    // Negative twin: the best of each station by itself is not the best way, but for some problems.
    if (problem > 0) continue;
    std::vector<std::size_t> greedy;
    for (const auto& choices : values)
      greedy.push_back(static_cast<std::size_t>(std::ranges::max_element(choices) - choices.begin()));
    CHECK(sum_of(values, cost, greedy) < best_of_all(values, cost));
  }
}

TEST_CASE("path: leaves a branch where that pays over all stations, and not for one alone", "[steer]") {
  const Cost leap = [](std::size_t, std::size_t from, std::size_t to) { return from == to ? 0 : 0.1; };
  // The second is better by 0.06 for three stations in a row: more than two leaps cost together only with a fourth.
  Values values(9, {1, 0.9});
  for (const std::size_t i : {3, 4, 5}) values[i] = {1, 1.06};
  CHECK(best_path(values, leap) == std::vector<std::size_t>(9, 0));
  values[6] = {1, 1.06};
  CHECK(best_path(values, leap) == std::vector<std::size_t>{0, 0, 0, 1, 1, 1, 1, 0, 0});
}

}  // namespace
