#include "optics/reflection.h"

#include <catch2/catch.hpp>
#include <random>
#include <vector>

using namespace catoptra;

namespace {

std::vector<Vec> directions() {
  std::vector<Vec> out{{0, 0, 1},
                       {0, 0, -1},
                       {1, 0, 0},
                       {0, 1, 0},
                       {-1, 0, 0},
                       {0, -1, 0},
                       {0.6, 0, 0.8},
                       {0, 0.6, -0.8},
                       unit(Vec{1e-9, -1e-9, 1}),
                       unit(Vec{1e-9, 1e-9, -1})};
  std::mt19937_64 random(4);
  std::normal_distribution<double> gaussian;
  for (int i = 0; i < 2000; ++i) out.push_back(unit(Vec{gaussian(random), gaussian(random), gaussian(random)}));
  return out;
}

/// Largest deviation of (t.first, t.second, n) from a right-handed set of unit vectors at right angles.
double flaw(const Tangents<double>& t, const Vec& n) {
  const Vec third = cross(t.first, t.second) - n;
  return std::max({std::fabs(length(t.first) - 1), std::fabs(length(t.second) - 1), std::fabs(dot(t.first, t.second)),
                   std::fabs(dot(t.first, n)), std::fabs(dot(t.second, n)), length(third)});
}

}  // namespace

TEST_CASE("law of reflection", "[optics]") {
  // The part along the normal turns round, the part across it stays; any length of the normal gives the same.
  const auto all = directions();
  for (std::size_t i = 1; i < all.size(); ++i) {
    const Vec d = all[i], n = all[i - 1], r = reflected(d, n), scaled = reflected(d, 7.3 * n);
    if (std::fabs(dot(r, n) + dot(d, n)) > 1e-15 || length(cross(r, n) - cross(d, n)) > 1e-15 ||
        std::fabs(length(r) - 1) > 1e-15 || length(r - scaled) > 1e-15) {
      FAIL("direction " << i);
    }
  }
  const Vec up = reflected(Vec{0.6, 0, -0.8}, Vec{0, 0, 1});
  CHECK(up.x == 0.6);
  CHECK(up.z == 0.8);
  // A mirror that turns by a turns the ray by 2 a.
  const double a = 0.01;
  const Vec turned_ray = reflected(Vec{0, 0, -1}, Vec{std::sin(a), 0, std::cos(a)});
  CHECK(std::atan2(turned_ray.x, turned_ray.z) == Approx(2 * a).epsilon(1e-13));
}

TEST_CASE("tangents are unit vectors at right angles, right-handed", "[optics]") {
  for (const Vec& n : directions()) {
    INFO(n.x << " " << n.y << " " << n.z);
    CHECK(flaw(any_tangents(n), n) < 1e-15);  // n itself is of unit length to 2e-16
    if (n.z > 1e-3) {
      const auto t = tangents_above_outline(n);
      CHECK(flaw(t, n) < 1e-15);
      CHECK(t.first.y == 0);  // the surface's x, laid onto it
      CHECK(t.first.x > 0);
    }
    if (std::hypot(n.x, n.y) > 1e-3) {
      const auto t = tangents_round_axis(n);
      CHECK(flaw(t, n) < 1e-15);
      CHECK(t.first.z == 0);  // round the axis
      CHECK(dot(t.first, Vec{-n.y, n.x, 0}) > 0);
    }
  }
  CHECK(std::isfinite(tangents_round_axis(Vec{0, 0, 1}).first.x));  // a ball's pole
}

TEST_CASE("matt surfaces follow Lambert's law", "[optics]") {
  // Power through an angle goes as cos, so cos^2 is even in (0, 1): mean of cos 2/3, of cos^2 1/2, of cos^4 1/3, and
  // the azimuth is even. Midpoints of a fine grid over (u, v): the errors are far below 1e-6.
  constexpr int steps = 1000;
  for (const Vec& n : {Vec{0, 0, 1}, Vec{0, 0, -1}, unit(Vec{1, 2, -3})}) {
    const auto t = any_tangents(n);
    double c1 = 0, c2 = 0, c4 = 0, a1 = 0, a2 = 0, b2 = 0, worst = 0;
    for (int i = 0; i < steps; ++i) {
      for (int j = 0; j < steps / 10; ++j) {
        const Vec d = lambertian(n, (i + 0.5) / steps, (j + 0.5) / (steps / 10));
        const double c = dot(d, n), a = dot(d, t.first), b = dot(d, t.second), w = 10.0 / (steps * steps);
        worst = std::max({worst, std::fabs(length(d) - 1), -c});
        c1 += c * w, c2 += c * c * w, c4 += c * c * c * c * w, a1 += a * w, a2 += a * a * w, b2 += b * b * w;
      }
    }
    CHECK(worst < 1e-15);
    CHECK(c1 == Approx(2.0 / 3).margin(1e-5));
    CHECK(c2 == Approx(0.5).margin(1e-6));
    CHECK(c4 == Approx(1.0 / 3).margin(1e-6));
    CHECK(a1 == Approx(0).margin(1e-12));
    CHECK(a2 == Approx(0.25).margin(1e-6));
    CHECK(b2 == Approx(0.25).margin(1e-6));
    CHECK(c1 != Approx(0.5).margin(1e-2));  // as light even over the hemisphere would have
  }
}

TEST_CASE("a curve over the incidence angle: linear between rows, constant beyond", "[optics]") {
  const double deg = pi / 180;
  const AngleCurve curve{{{10 * deg, 0.9}, {50 * deg, 0.7}, {80 * deg, 0.1}}};
  for (const auto& [angle_deg, expected] : std::vector<std::pair<double, double>>{
           {0, 0.9}, {10, 0.9}, {30, 0.8}, {50, 0.7}, {65, 0.4}, {80, 0.1}, {89, 0.1}}) {
    CHECK(value_at(curve, angle_deg * deg) == Approx(expected).epsilon(1e-14));
    double lanes_out[Pack::size];
    store(value_at_cosine(curve, Pack(std::cos(angle_deg * deg))), lanes_out);
    for (const double x : lanes_out) CHECK(x == Approx(expected).epsilon(1e-13));
  }
  double alone[Pack::size];
  store(value_at_cosine(AngleCurve{{{0, 0.94}}}, Pack(0.3)), alone);
  CHECK(alone[0] == 0.94);
  store(value_at_cosine(curve, Pack(1 + 1e-16)), alone);  // rounding may pass 1
  CHECK(alone[0] == 0.9);
}

TEST_CASE("slope errors have the stated rms on each axis", "[optics]") {
  // The tilted normal's slopes along the tangents are Gaussian with the two sigmas, exactly, whatever the normal.
  constexpr int draws = 1 << 17;
  const double sigma_a = 2e-3, sigma_b = 5e-3, limit = 5 * std::sqrt(2.0 / draws);
  std::mt19937_64 random(5);
  std::uniform_real_distribution<double> even(0x1p-53, 1);
  for (const Vec& n : {Vec{0, 0, 1}, unit(Vec{0.5, -0.3, 0.9})}) {
    const auto t = tangents_above_outline(n);
    double aa = 0, bb = 0, ab = 0;
    for (int i = 0; i < draws; ++i) {
      const double u = even(random), v = even(random);
      const auto [p, q] = gaussian_pair(u, v);
      const Vec m = unit(tilted(n, t, sigma_a * p, sigma_b * q));
      const double a = dot(m, t.first) / dot(m, n), b = dot(m, t.second) / dot(m, n);
      aa += a * a / draws, bb += b * b / draws, ab += a * b / draws;
    }
    CHECK(std::fabs(aa / (sigma_a * sigma_a) - 1) < limit);
    CHECK(std::fabs(bb / (sigma_b * sigma_b) - 1) < limit);
    CHECK(std::fabs(ab / (sigma_a * sigma_b)) < limit);
    CHECK(std::fabs(1.05 * 1.05 * aa / (sigma_a * sigma_a) - 1) > limit);
    CHECK(std::fabs(bb / (sigma_a * sigma_a) - 1) > limit);  // the axes are not mixed up
  }
}

TEMPLATE_TEST_CASE("reflection in lanes and in scalars: the same bits", "[optics]", Pack) {
  const auto all = directions();
  int different = 0;
  for (std::size_t i = 1; i < all.size(); ++i) {
    const Vec d = all[i], n = all[i - 1];
    const auto wide = broadcast<TestType>(n);
    const auto compare = [&](const Vec3<TestType>& a, const Vec& b) {
      different += a.x.get(0) != b.x || a.y.get(0) != b.y || a.z.get(0) != b.z;
    };
    compare(reflected(broadcast<TestType>(d), wide), reflected(d, n));
    compare(any_tangents(wide).first, any_tangents(n).first);
    compare(any_tangents(wide).second, any_tangents(n).second);
    compare(lambertian(wide, TestType(0.3), TestType(0.7)), lambertian(n, 0.3, 0.7));
  }
  CHECK(different == 0);
}
