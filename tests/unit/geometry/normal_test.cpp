// Normals, heights, points and boxes of the surfaces.
#include <catch2/catch.hpp>

#include "unit/geometry/reference.h"
#include "unit/geometry/shapes.h"

using namespace catoptra;

namespace {

/// grad F / |grad F|, F the defining equation; exact by central differences since F is quadratic.
template <class Surface>
Vec gradient_direction(const Surface& surface, const Vec& p) {
  using reference::Big;
  const auto at = reference::big(p);
  const auto slope = [&](const reference::BigVec& e) {
    return Big(implicit(surface, along(at, e, 1)) - implicit(surface, along(at, e, -1)));
  };
  const Big x = slope({1, 0, 0}), y = slope({0, 1, 0}), z = slope({0, 0, 1}), norm = sqrt(x * x + y * y + z * z);
  return {static_cast<double>(Big(x / norm)), static_cast<double>(Big(y / norm)), static_cast<double>(Big(z / norm))};
}

template <class Surface>
double front_of_gradient(const Surface& surface) {
  if constexpr (Surface::above_outline) {
    return -1;  // F falls with z at the vertex (Conic, Trough)
  } else {
    return surface.side;
  }
}
double front_of_gradient(const Plane&) {
  return 1;
}

}  // namespace

TEMPLATE_TEST_CASE("normals are the gradient's direction, toward the front", "[geometry]", double, Pack) {
  using Real = TestType;
  for_each_shape([](const char* name, const auto& surface, const auto& outline, const Vec&, double) {
    CAPTURE(name);
    Dice dice(3);
    double worst = 0;
    for (int i = 0; i < 200; ++i) {
      const Vec p = entry_point(surface, outline, dice(), dice()).point_m;
      const Vec3<Real> lane = surface.normal(broadcast<Real>(p));
      const Vec got{xsimd::batch<double>(lane.x).get(0), xsimd::batch<double>(lane.y).get(0),
                    xsimd::batch<double>(lane.z).get(0)};
      const Vec want = front_of_gradient(surface) * gradient_direction(surface, p);
      worst = std::fmax(worst, length(got - want));
    }
    CHECK(worst < 1e-15);
  });
}

TEST_CASE("a cone's apex has a normal too", "[geometry]") {
  CHECK(Cone{1, -1, 1, 1}.normal(Vec{0, 0, 1}) == Vec{0, 0, 1});
  CHECK(Cone{1, 1, 1, 1}.normal(Vec{0, 0, -1}) == Vec{0, 0, -1});
  CHECK(Cone{1, 1, 1, -1}.normal(Vec{0, 0, -1}) == Vec{0, 0, 1});
}

TEST_CASE("sample points lie on their surface", "[geometry]") {
  for_each_shape([](const char* name, const auto& surface, const auto& outline, const Vec&, double) {
    CAPTURE(name);
    Dice dice(4);
    const double size = reach_m(surface.box(outline));
    double worst = 0;
    for (int i = 0; i < 200; ++i) {
      // Distance from the surface to first order: F / |grad F|.
      const Vec p = entry_point(surface, outline, dice(), dice()).point_m;
      using reference::Big;
      const auto at = reference::big(p);
      const Vec n = gradient_direction(surface, p);
      const Big rise =
          (implicit(surface, along(at, reference::big(n), 1)) - implicit(surface, along(at, reference::big(n), -1))) /
          2;
      worst = std::fmax(worst, std::fabs(static_cast<double>(Big(implicit(surface, at) / rise))) / size);
    }
    CHECK(worst < 4e-16);
  });
}

TEST_CASE("boxes hold their surface, and little else", "[geometry]") {
  for_each_shape([](const char* name, const auto& surface, const auto& outline, const Vec&, double) {
    CAPTURE(name);
    const Box box = surface.box(outline);
    Box seen;
    const int n = 400;
    for (int i = 0; i <= n; ++i) {
      for (int j = 0; j <= n; ++j) seen.include(entry_point(surface, outline, i / double(n), j / double(n)).point_m);
    }
    const double size = reach_m(box);
    const auto tight = [&](double low, double seen_low, double seen_high, double high) {
      return low < seen_low && seen_high < high && seen_low - low < 0.01 * size && high - seen_high < 0.01 * size;
    };
    CHECK(tight(box.low.x, seen.low.x, seen.high.x, box.high.x));
    CHECK(tight(box.low.y, seen.low.y, seen.high.y, box.high.y));
    CHECK(tight(box.low.z, seen.low.z, seen.high.z, box.high.z));
  });
}

TEST_CASE("a box reaches the corners of an outline off the axis, and stops at the equator", "[geometry]") {
  const Conic dish{0.1, 0};
  const Polygon outline({{3, 1}, {5, 1}, {4, 6}});
  const Box box = dish.box(outline);
  CHECK(box.high.z == Approx(0.05 * (16 + 36)).margin(1e-8));
  CHECK(box.low.z == Approx(0.05 * (9 + 1)).margin(1e-8));
  CHECK(Conic{1, 1}.box(Rectangle{1, 1, {}}).high.z == Approx(1).epsilon(1e-8));  // corners beyond the sphere
  CHECK(Plane{}.box(Whole{}).low.x > Plane{}.box(Whole{}).high.x);                // empty
}
