// Entry points: the measure integrates to the surface's area, and its flux to that of the rim.
#include <bit>
#include <boost/math/quadrature/gauss.hpp>
#include <catch2/catch.hpp>

#include "unit/geometry/shapes.h"

using namespace catoptra;

namespace {

/// Mean of f(entry point) over the unit square: Gauss-Legendre across, and midpoints round the circle, exact for the
/// trigonometric polynomials that occur there.
template <class Real, class Surface, class Outline, class F>
double mean(const Surface& surface, const Outline& outline, const F& f) {
  constexpr int round = 64;
  double sum = 0;
  for (int j = 0; j < round; ++j) {
    const double v = (j + 0.5) / round;
    sum += boost::math::quadrature::gauss<double, 30>::integrate(
        [&](double u) {
          const auto e = entry_point(surface, outline, Real(u), Real(v));
          std::array<double, lanes<Real>> out;
          store(f(e), out.data());
          return out.back();
        },
        0.0, 1.0);
  }
  return sum / round;
}

const auto measure = [](const auto& e) { return e.measure_m2; };

}  // namespace

TEMPLATE_TEST_CASE("the measure's mean is the surface's area", "[geometry]", double, Pack) {
  using Real = TestType;
  const auto area = [](const auto& surface, const auto& outline) { return mean<Real>(surface, outline, measure); };
  const auto is = [](double x) { return Approx(x).epsilon(1e-13); };
  // All closed forms from school geometry: I. N. Bronshtein et al., Handbook of Mathematics, chapter on solids (from
  // memory); the paraboloid's and parabola's by elementary integration.
  SECTION("paraboloid, f = 2 m, r = 1.5 m") {
    CHECK(area(Conic{1 / 4.0, 0}, Ring{0, 1.5, {}}) == is(8 * pi * 4 / 3 * (std::pow(1 + 2.25 / 16, 1.5) - 1)));
  }
  SECTION("spherical cap 2 pi R h, projected and deep, of either sign") {
    const double h = 2 - std::sqrt(4 - 1.0);
    CHECK(area(Conic{1 / 2.0, 1}, Ring{0, 1, {}}) == is(2 * pi * 2 * h));
    const double deep_h = 2 - std::sqrt(4 - 1.9 * 1.9);
    CHECK(area(Conic{1 / 2.0, 1}, Ring{0, 1.9, {}}) == is(2 * pi * 2 * deep_h));
    CHECK(area(Conic{-1 / 2.0, 1}, Ring{0, 1.9, {}}) == is(2 * pi * 2 * deep_h));
    CHECK(area(Conic{-1 / 2.0, 1}, Ring{1, 1.9, {}}) == is(2 * pi * 2 * (deep_h - h)));
    CHECK(area(Conic{1 / 2.0, 1}, Ring{0, 2, {}}) == is(2 * pi * 4));  // hemisphere
    CHECK(area(Conic{1 / 2.0, 1}, Sector{Ring{0, 2, {}}, 1, pi / 2}) == is(2 * pi));
  }
  SECTION("plane, off the axis") {
    CHECK(area(Plane{}, Ring{0.5, 1, {7, 0}}) == is(pi * 0.75));
  }
  SECTION("parabolic trough, f = 1.5 m, half width 2.5 m, 12 m long") {
    const double t = 2.5 / 3;
    CHECK(area(Trough{1 / 3.0, 0}, Rectangle{2.5, 6, {}}) == is(12 * (2.5 * std::sqrt(1 + t * t) + 3 * std::asinh(t))));
  }
  SECTION("circular trough: arc times length, projected and deep, centred and not") {
    CHECK(area(Trough{1 / 3.0, 1}, Rectangle{1, 6, {}}) == is(12 * 3 * 2 * std::asin(1 / 3.0)));
    CHECK(area(Trough{1 / 3.0, 1}, Rectangle{2.9, 6, {}}) == is(12 * 3 * 2 * std::asin(2.9 / 3)));
    CHECK(area(Trough{-1 / 3.0, 1}, Rectangle{2.9, 6, {}}) == is(12 * 3 * 2 * std::asin(2.9 / 3)));
    CHECK(area(Trough{1 / 3.0, 1}, Rectangle{1, 6, {2, 1}}) == is(12 * 3 * (pi / 2 - std::asin(1 / 3.0))));
  }
  SECTION("tube, frustum (pi (r1 + r2) slant), ball") {
    CHECK(area(Cylinder{0.4, 0.75, 1}, Whole{}) == is(2 * pi * 0.4 * 1.5));
    CHECK(area(Cone{1, 0.5, 1, 1}, Whole{}) == is(pi * (0.5 + 1.5) * std::hypot(1, 2)));
    CHECK(area(Ball{2, 1}, Whole{}) == is(16 * pi));
  }
  SECTION("no bounds, no entry") {
    CHECK(area(Conic{0.1, 0}, Whole{}) == 0);
  }
}

TEMPLATE_TEST_CASE("flux through a cap is that through its flat rim", "[geometry]", double, Pack) {
  // Divergence theorem with a constant field s: the integral of s . n over the cap is area x s_z.
  using Real = TestType;
  const Vec s = unit(Vec{0.4, -0.3, 0.8});
  const auto is_rim = [&](const auto& surface, const auto& outline) {
    const double flux =
        mean<Real>(surface, outline, [&](const auto& e) { return e.measure_m2 * dot(broadcast<Real>(s), e.normal); });
    CHECK(flux == Approx(outline.area_m2() * s.z).epsilon(1e-13));
  };
  is_rim(Conic{1 / 4.0, 0}, Ring{0, 1.5, {}});
  is_rim(Conic{-1 / 4.0, -0.8}, Ring{0, 1.5, {}});
  is_rim(Conic{1 / 4.0, 2.5}, Ring{0, 1.5, {}});
  is_rim(Conic{1 / 2.0, 1}, Ring{0, 1, {}});
  is_rim(Conic{1 / 2.0, 1}, Ring{0, 1.9, {}});
  is_rim(Conic{-1 / 2.0, 1}, Ring{0, 2, {}});
  is_rim(Trough{1 / 3.0, 0}, Rectangle{2.5, 6, {}});
  is_rim(Trough{1 / 3.0, 1}, Rectangle{2.9, 6, {}});
  is_rim(Trough{-1 / 3.0, 1}, Rectangle{3, 6, {}});

  const auto through_closed = [&](const auto& surface) {
    return mean<Real>(surface, Whole{},
                      [&](const auto& e) { return e.measure_m2 * dot(broadcast<Real>(s), e.normal); });
  };
  CHECK(through_closed(Ball{2, 1}) == Approx(0).margin(1e-12));
  CHECK(through_closed(Cylinder{0.4, 0.75, 1}) == Approx(0).margin(1e-12));
  // A frustum lacks its two discs: pi (r_bottom^2 - r_top^2) s_z.
  CHECK(through_closed(Cone{1, 0.5, 1, 1}) == Approx(pi * (0.25 - 2.25) * s.z).epsilon(1e-13));
  CHECK(through_closed(Cone{1, 0.5, 1, -1}) == Approx(pi * (2.25 - 0.25) * s.z).epsilon(1e-13));
}

TEST_CASE("closed shapes and deep spheres are sampled evenly", "[geometry]") {
  // Exact: the share of the area below the point's height is v (u for the sphere above an outline).
  for (const double share : {0.0, 1e-9, 0.1, 0.5, 0.9, 1.0}) {
    for (const Cone& cone :
         {Cone{1, 0.5, 1, 1}, Cone{1, -1, 1, 1}, Cone{1, 1, 1, 1}, Cone{2, 1e-12, 3, 1}, Cone{2, 0, 3, 1}}) {
      const Vec p = cone.point(0.3, share);
      const double h = cone.half_height_m, bottom = cone.middle_radius_m - cone.growth * h;
      const double r = std::hypot(p.x, p.y), slant = (p.z + h) * std::hypot(1, cone.growth);
      CHECK(pi * (bottom + r) * slant / cone.area_m2() == Approx(share).margin(1e-15).epsilon(1e-14));
      CHECK(r == Approx(cone.middle_radius_m + cone.growth * p.z).margin(1e-14));
    }
    CHECK((2 - Ball{2, 1}.point(0.3, share).z) / 4 == Approx(share).margin(1e-16).epsilon(1e-14));
    const auto e = entry_point(Conic{1 / 2.0, 1}, Ring{0, 2, {}}, share, 0.3);
    CHECK(e.point_m.z / 2 == Approx(share).margin(1e-16).epsilon(1e-14));
  }
}

TEST_CASE("a mirror that faces the sun has a constant weight", "[geometry]") {
  Dice dice(6);
  for (int i = 0; i < 100; ++i) {
    const auto e = entry_point(Conic{1 / 4.0, 0}, Ring{0.3, 1.5, {}}, dice(), dice());
    CHECK(e.measure_m2 * e.normal.z == Approx(pi * (2.25 - 0.09)).epsilon(1e-15));
  }
}

TEST_CASE("the weight stays bounded up to the equator", "[geometry]") {
  for (const double u : {0.0, 1e-16, 0.5, 1 - 1e-16, 1.0}) {
    CHECK(entry_point(Conic{1 / 3.0, 1}, Ring{0, 3, {}}, u, 0.2).measure_m2 == Approx(2 * pi * 9));
    const double trough = entry_point(Trough{1 / 3.0, 1}, Rectangle{3, 1, {}}, u, 0.2).measure_m2;
    CHECK((trough >= 11.9 && trough <= 24.1));  // mean 6 pi, within a factor of two from end to middle
  }
}

TEST_CASE("entry points: a double and each lane give the same bits", "[geometry]") {
  const auto bits = [](double x) { return std::bit_cast<std::uint64_t>(x); };
  for_each_shape([&](const char* name, const auto& surface, const auto& outline, const Vec&, double) {
    CAPTURE(name);
    Dice dice(8);
    int different = 0;
    for (int i = 0; i < 200; ++i) {
      alignas(64) std::array<double, lanes<Pack>> u, v;
      for (std::size_t k = 0; k < lanes<Pack>; ++k) u[k] = dice(), v[k] = dice();
      const auto many = entry_point(surface, outline, load<Pack>(u.data()), load<Pack>(v.data()));
      for (std::size_t k = 0; k < lanes<Pack>; ++k) {
        const auto one = entry_point(surface, outline, u[k], v[k]);
        different +=
            bits(one.point_m.x) != bits(many.point_m.x.get(k)) || bits(one.point_m.y) != bits(many.point_m.y.get(k)) ||
            bits(one.point_m.z) != bits(many.point_m.z.get(k)) ||
            bits(one.measure_m2) != bits(many.measure_m2.get(k)) || bits(one.normal.x) != bits(many.normal.x.get(k)) ||
            bits(one.normal.z) != bits(many.normal.z.get(k));
      }
    }
    CHECK(different == 0);
  });
}
