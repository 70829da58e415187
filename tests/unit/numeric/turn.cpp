// The tracer's own elementary functions against long double, and lanes against scalars, bit by bit.
#include "numeric/turn.h"

#include <bit>
#include <catch2/catch.hpp>
#include <random>
#include <vector>

using namespace catoptra;

namespace {

constexpr long double pi_l = 3.141592653589793238462643383279502884L;

long double ulp(double x) {
  return std::nextafter(std::fabs(x), infinity) - std::fabs(x);
}

/// Share of turns where a formula is likely to go wrong, and plenty between.
std::vector<double> turns() {
  std::vector<double> out;
  std::mt19937_64 random(1);
  std::uniform_real_distribution<double> even(-2, 2);
  for (int i = 0; i < 200000; ++i) out.push_back(even(random));
  for (int eighth = -16; eighth <= 16; ++eighth) {
    for (const double off : {0.0, 1e-300, 1e-17, 1e-12, -1e-17, -1e-12}) {
      const double u = eighth / 8.0 + off;
      if (std::fabs(u) <= 2) out.push_back(u);
    }
  }
  return out;
}

std::vector<double> positives() {
  std::vector<double> out{1,           0.5,         2,           0x1p-33,   0x1p-53, 3 * 0x1p-53,
                          1 - 0x1p-33, 1 - 0x1p-53, 1 + 0x1p-52, 0x1p-1022, 1e308,   std::sqrt(0.5)};
  out.push_back(std::nextafter(std::sqrt(0.5), 0));
  out.push_back(std::nextafter(std::sqrt(2.0), 2));
  std::mt19937_64 random(2);
  std::uniform_real_distribution<double> exponent(-700, 700), near_one(0.9, 1.1);
  for (int i = 0; i < 100000; ++i) out.push_back(std::exp(exponent(random)));
  for (int i = 0; i < 100000; ++i) out.push_back(near_one(random));
  return out;
}

template <class Function>
int different_bits(const std::vector<double>& inputs, Function&& function) {
  int different = 0;
  for (std::size_t i = 0; i + Pack::size <= inputs.size(); i += Pack::size) {
    double each[Pack::size];
    store(function(load<Pack>(&inputs[i])), each);
    for (std::size_t lane = 0; lane < Pack::size; ++lane) {
      const double alone = function(inputs[i + lane]);
      different += std::bit_cast<std::uint64_t>(alone) != std::bit_cast<std::uint64_t>(each[lane]);
    }
  }
  return different;
}

}  // namespace

TEST_CASE("sine and cosine of turns: within 3e-16", "[turn]") {
  long double worst = 0;
  for (const double u : turns()) {
    const auto got = sine_cosine_of_turns(u);
    const long double angle = 2 * pi_l * static_cast<long double>(u);
    worst = std::max({worst, std::fabs(got.sine - std::sin(angle)), std::fabs(got.cosine - std::cos(angle))});
  }
  CHECK(worst <= 3e-16L);
  CHECK(worst > 1e-17L);  // long double sees what double rounds away
}

TEST_CASE("natural logarithm: within 2 ulp", "[turn]") {
  long double worst = 0;
  for (const double x : positives()) {
    const long double exact = std::log(static_cast<long double>(x));
    const double rounded = static_cast<double>(exact);
    if (rounded == 0) {
      CHECK(natural_log(x) == 0);
      continue;
    }
    worst = std::max(worst, std::fabs(natural_log(x) - exact) / ulp(rounded));
  }
  CHECK(worst <= 2);
  CHECK(worst > 0.1L);
}

TEST_CASE("a double and a lane give the same bits", "[turn]") {
  const auto around = turns(), above = positives();
  CHECK(different_bits(around, [](const auto& u) { return sine_cosine_of_turns(u).sine; }) == 0);
  CHECK(different_bits(around, [](const auto& u) { return sine_cosine_of_turns(u).cosine; }) == 0);
  CHECK(different_bits(around, [](const auto& x) { return sine_cosine(x).sine; }) == 0);
  CHECK(different_bits(around, [](const auto& x) { return sine_cosine(x).cosine; }) == 0);
  CHECK(different_bits(around, [](const auto& x) { return nearest_integer(x); }) == 0);
  CHECK(different_bits(around, [](const auto& x) { return copy_sign(absolute(x), x); }) == 0);
  CHECK(different_bits(around, [](const auto& x) { return multiply_add(x, x, x); }) == 0);
  CHECK(different_bits(above, [](const auto& x) { return natural_log(x); }) == 0);
  CHECK(different_bits(above, [](const auto& x) { return square_root(x); }) == 0);
  // The comparison sees a last bit: x x + x with two roundings is not the fused one.
  CHECK(different_bits(around, [](const auto& x) {
          using Real = std::decay_t<decltype(x)>;
          if constexpr (std::is_same_v<Real, double>)
            return x * x + x;
          else
            return multiply_add(x, x, x);
        }) > 0);
}

TEST_CASE("pairs of Gaussians have their moments", "[turn]") {
  // Means 0, variances 1, fourth moments 3, no correlation: errors of the means are known in closed form.
  constexpr int pairs = 1 << 18;
  const double root = std::sqrt(static_cast<double>(pairs));
  std::mt19937_64 random(3);
  std::uniform_real_distribution<double> even(0x1p-53, 1);
  double a1 = 0, a2 = 0, b2 = 0, a4 = 0, ab = 0, a2b2 = 0;
  for (int i = 0; i < pairs; ++i) {
    const double u = even(random), v = even(random);
    const auto [a, b] = gaussian_pair(u, v);
    a1 += a / pairs, a2 += a * a / pairs, b2 += b * b / pairs, a4 += a * a * a * a / pairs;
    ab += a * b / pairs, a2b2 += a * a * b * b / pairs;
  }
  CHECK(std::fabs(a1) < 5 / root);
  CHECK(std::fabs(a2 - 1) < 5 * std::sqrt(2) / root);
  CHECK(std::fabs(b2 - 1) < 5 * std::sqrt(2) / root);
  CHECK(std::fabs(a4 - 3) < 5 * std::sqrt(96) / root);  // E a^8 - 9 = 105 - 9
  CHECK(std::fabs(ab) < 5 / root);
  CHECK(std::fabs(a2b2 - 1) < 5 * std::sqrt(8) / root);  // E a^4 b^4 - 1 = 9 - 1
  CHECK(std::fabs(1.03 * 1.03 * a2 - 1) > 5 * std::sqrt(2) / root);
}
