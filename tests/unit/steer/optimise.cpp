#include "steer/optimise.h"

#include <atomic>
#include <catch2/catch.hpp>
#include <cmath>
#include <stdexcept>

using namespace catoptra;

namespace {

double hill(std::span<const double> x) {
  const double a = x[0] - 0.3, b = x[1] + 0.6;
  return 2 - a * a - 3 * b * b - a * b;
}

TEST_CASE("climb: to the top of a hill, to the edge of the box, never down", "[steer]") {
  const std::vector<double> start{-0.5, 0.5};
  const Optimum top = climb(hill, {start, hill(start)}, 0.2, 1e-6, 2000);
  CHECK(top.at[0] == Approx(0.3).margin(1e-4));
  CHECK(top.at[1] == Approx(-0.6).margin(1e-4));
  CHECK(top.value == hill(top.at));
  const Merit slope = [](std::span<const double> x) { return x[0] + x[1]; };
  const Optimum edge = climb(slope, {start, slope(start)}, 0.2, 1e-6, 2000);
  CHECK(edge.at[0] == Approx(1).margin(1e-4));
  CHECK(edge.at[1] == Approx(1).margin(1e-4));
  const Merit flat = [](std::span<const double>) { return 0.0; };
  CHECK(climb(flat, {start, 0}, 0.2, 1e-3, 200).at == start);
  const Merit single = [](std::span<const double> x) { return -std::pow(x[0] - 0.25, 2); };
  CHECK(climb(single, {{-1}, single(std::vector<double>{-1})}, 0.2, 1e-6, 500).at[0] == Approx(0.25).margin(1e-4));
}

TEST_CASE("survey: finds the higher of two hills, and both apart", "[steer]") {
  const Merit two = [](std::span<const double> x) {
    const auto bump = [&](double a, double b, double height) {
      return height * std::exp(-(std::pow(x[0] - a, 2) + std::pow(x[1] - b, 2)) / 0.05);
    };
    return bump(-0.6, 0.5, 1.0) + bump(0.7, -0.4, 0.9);
  };
  const auto found = survey(two, 2, 300, 2, 0.4);
  REQUIRE(found.size() == 2);
  CHECK(found[0].at[0] == Approx(-0.6).margin(0.1));
  CHECK(found[1].at[0] == Approx(0.7).margin(0.2));
}

TEST_CASE("scatter: corners and faces have points of their own, places lie apart", "[steer]") {
  const Merit corner = [](std::span<const double> x) { return x[0] - x[1]; };
  const auto found = scatter(corner, 2, 400, 3, 0.4);  // of which a corner has a hundredth
  REQUIRE(found.size() == 3);
  CHECK(found[0].at == std::vector<double>{1, -1});
  CHECK(found[0].value == 2);
  for (std::size_t i = 1; i < found.size(); ++i) {
    double apart = 0;
    for (std::size_t k = 0; k < 2; ++k) apart = std::max(apart, std::fabs(found[i].at[k] - found[0].at[k]));
    CHECK(apart > 0.4);
    CHECK(found[i].value <= found[i - 1].value);
  }
  // More coordinates than Sobol's table has.
  const Merit none = [](std::span<const double>) { return 0.0; };
  CHECK(scatter(none, 30, 10, 2, 0.1)[1].at.size() == 30);
}

TEST_CASE("climb: a start that lies an ulp outside of the box counts as on its edge", "[steer]") {
  const std::vector<double> start{std::nextafter(1.0, 2.0), 0};
  CHECK(climb(hill, {start, -10}, 0.2, 1e-6, 2000).at[0] == Approx(0.3).margin(1e-4));
}

TEST_CASE("what a merit throws comes through", "[steer]") {
  int calls = 0;
  const Merit faulty = [&](std::span<const double> x) -> double {
    if (++calls == 7) throw std::domain_error("seventh");
    return x[0];
  };
  CHECK_THROWS_AS(climb(faulty, {{0, 0}, 0}, 0.2, 1e-6, 100), std::domain_error);
  calls = 0;
  CHECK_THROWS_AS(survey(faulty, 2, 100, 1, 0.1), std::domain_error);
}

}  // namespace
