// Conics with polynomial terms: hits against a search in steps, limits against the plain conic.
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "geometry/area.h"
#include "geometry/scaled.h"
#include "geometry/surface.h"

using namespace catoptra;

namespace {

const std::array<double, 4> none{0, 0, 0, 0};
/// A bowl with a ripple: concave in the middle, and with a hump toward its rim.
const Asphere rippled(0.2, 0.3, {0.004, -0.0016, 8e-5, 0}, 3);
const Asphere nearly_flat(1e-6, 1, {1e-4, 0, 0, 0}, 2);

/// Height of the ray's point above the surface, in long double.
long double height_above(const Asphere& a, const Vec& p, const Vec& d, long double t) {
  const long double x = p.x + t * d.x, y = p.y + t * d.y, z = p.z + t * d.z;
  return z - a.height(static_cast<double>(x * x + y * y)).value;
}

/// The first hit ahead, by trying every ten-thousandth of the way and halving; infinity where there is none.
double first_by_steps(const Asphere& a, const Vec& p, const Vec& d, double least) {
  const auto inside = [&](long double t) { return std::hypot(p.x + t * d.x, p.y + t * d.y) <= a.rim_m(); };
  constexpr int steps = 40000;
  const double longest = 14;
  for (int i = 0; i < steps; ++i) {
    long double low = least + (longest - least) * i / steps, high = least + (longest - least) * (i + 1) / steps;
    if (!inside(low) || !inside(high)) continue;
    const bool above = height_above(a, p, d, low) > 0;
    if (above == (height_above(a, p, d, high) > 0)) continue;
    for (int k = 0; k < 60; ++k) {
      const long double middle = (low + high) / 2;
      ((height_above(a, p, d, middle) > 0) == above ? low : high) = middle;
    }
    return static_cast<double>(low);
  }
  return infinity;
}

Vec direction(std::mt19937_64& random) {
  std::normal_distribution<double> z;
  return unit(Vec{z(random), z(random), z(random)});
}

TEST_CASE("asphere: without terms it is its conic", "[geometry]") {
  std::mt19937_64 random(3);
  std::uniform_real_distribution<double> even(-1, 1);
  for (const double q : {-1.5, 0.0, 0.6, 1.0}) {
    const Asphere asphere(0.25, q, none, 3);
    const Conic conic{0.25, q};
    const Ring rim{0, 3, {0, 0}};
    for (int i = 0; i < 400; ++i) {
      const Vec p{4 * even(random), 4 * even(random), 6 + 4 * even(random)}, d = direction(random);
      const double found = asphere.first_hit_m(p, d, false), expected = hit_distance_m(conic, rim, p, d, false);
      INFO("from " << p.x << " " << p.y << " " << p.z << " along " << d.x << " " << d.y << " " << d.z);
      if (expected == infinity) {
        CHECK(found == infinity);
      } else {
        CHECK(std::fabs(found - expected) < 1e-12);
        const Vec at = point_along(p, d, found);
        CHECK(length(asphere.normal(at) - conic.normal(at)) < 1e-14);
      }
    }
    CHECK(asphere.steepest_sine(Whole{}) ==
          Approx(std::sqrt(1 - std::pow(conic.normal(Vec{3, 0, conic.sag(3.0, 0.0)}).z, 2))).epsilon(2e-3));
  }
}

TEST_CASE("asphere: the first of several hits, in doubles and in lanes", "[geometry]") {
  std::mt19937_64 random(5);
  std::uniform_real_distribution<double> even(-1, 1);
  int hits = 0, twice = 0;
  for (int i = 0; i < 300; ++i) {
    // From above, from below and nearly level, where a ray grazes the ripples.
    const Vec p{4 * even(random), 4 * even(random), 0.8 + even(random)};
    const Vec toward{2 * even(random), 2 * even(random), 0};
    Vec d = unit(Vec{toward.x, toward.y, rippled.sag(toward.x, toward.y)} - p);
    if (i % 2 == 0) d = unit(Vec{d.x, d.y, 0.1 * d.z});
    const double expected = first_by_steps(rippled, p, d, 0), found = rippled.first_hit_m(p, d, false);
    INFO("ray " << i << ": " << found << ", expected " << expected);
    if (expected == infinity) {
      // A grazing pair of hits may lie between two steps; then it must be a true hit all the same.
      if (found < infinity) CHECK(std::fabs(static_cast<double>(height_above(rippled, p, d, found))) < 1e-12);
      continue;
    }
    ++hits;
    CHECK(std::fabs(found - expected) < 1e-9);
    const auto lanes_found = rippled.first_hit_m(broadcast<Pack>(p), broadcast<Pack>(d), Pack(0.0) == Pack(1.0));
    alignas(64) std::array<double, lanes<Pack>> each;
    store(lanes_found, each.data());
    CHECK(each[0] == found);
    // From the hit on: the next one, not the same again.
    const Vec at = point_along(p, d, found);
    const double again = rippled.first_hit_m(at, d, true), next = first_by_steps(rippled, at, d, 1e-6);
    if (next < infinity) {
      ++twice;
      CHECK(std::fabs(again - next) < 1e-7);
    } else if (again < infinity) {
      CHECK(std::fabs(static_cast<double>(height_above(rippled, at, d, again))) < 1e-11);
    }
  }
  CHECK(hits > 100);
  CHECK(twice > 20);
}

TEST_CASE("asphere: rays along the axis and level ones; a nearly flat mirror", "[geometry]") {
  CHECK(rippled.first_hit_m(Vec{1, 0, 5}, Vec{0, 0, -1}, false) == Approx(5 - rippled.sag(1.0, 0.0)).epsilon(1e-14));
  CHECK(rippled.first_hit_m(Vec{3.1, 0, 5}, Vec{0, 0, -1}, false) == infinity);
  CHECK(rippled.first_hit_m(Vec{1, 0, 5}, Vec{0, 0, 1}, false) == infinity);
  const double level_m = rippled.sag(1.5, 0.0);
  CHECK(rippled.first_hit_m(Vec{0, 0, level_m}, Vec{1, 0, 0}, false) == Approx(1.5).epsilon(1e-9));
  CHECK(nearly_flat.first_hit_m(Vec{0.5, 0, 2}, Vec{0, 0, -1}, false) ==
        Approx(2 - 1e-4 * std::pow(0.5, 4) - 1e-6 * 0.25 / 2).epsilon(1e-12));
  CHECK(nearly_flat.first_hit_m(Vec{0.5, 0, nearly_flat.sag(0.5, 0.0)}, Vec{0, 0, 1}, true) == infinity);
}

TEST_CASE("asphere: slope, box, area, scaling", "[geometry]") {
  for (const double r : {0.3, 1.1, 2.2, 2.9}) {
    const double h = 1e-5, slope = (rippled.sag(r + h, 0.0) - rippled.sag(r - h, 0.0)) / (2 * h);
    const Vec n = rippled.normal(Vec{r, 0, 0});
    CHECK(-n.x / n.z == Approx(slope).epsilon(1e-8));
    CHECK(std::sqrt(1 - n.z * n.z) <= rippled.steepest_sine(Whole{}));
    CHECK(rippled.box(Whole{}).low.z <= rippled.sag(r, 0.0));
    CHECK(rippled.box(Whole{}).high.z >= rippled.sag(r, 0.0));
    const Asphere large = *rippled.scaled(1.5);
    CHECK(large.height(2.25 * r * r).value == Approx(1.5 * rippled.height(r * r).value).epsilon(1e-13));
  }
  // 2 pi r sqrt(1 + slope^2) dr, by the trapezoidal rule.
  double area = 0;
  constexpr int n = 20000;
  for (int i = 0; i <= n; ++i) {
    const double r = 3.0 * i / n, slope = 2 * r * rippled.height(r * r).slope;
    area += (i == 0 || i == n ? 0.5 : 1) * 2 * pi * r * std::sqrt(1 + slope * slope) * 3 / n;
  }
  CHECK(front_area_m2(rippled, Ring{0, 3, {0, 0}}) == Approx(area).epsilon(1e-7));
  CHECK_THROWS_AS(Asphere(0.5, 1, none, 2), std::invalid_argument);
}

}  // namespace
