// Areas of surfaces and of their parts inside rectangles, against closed forms and scipy.
#include "geometry/area.h"

#include <catch2/catch.hpp>

using namespace catoptra;

namespace {

/// Sum over the bins of a grid on the outline's bounds.
double sum_of_bins(const AnySurface& surface, const AnyOutline& outline, int columns, int rows) {
  const AreaAbove area(surface, outline);
  const Box2 all = box(outline);
  const double w = (all.high.x - all.low.x) / columns, h = (all.high.y - all.low.y) / rows;
  double sum = 0;
  for (int i = 0; i < columns; ++i) {
    for (int j = 0; j < rows; ++j) {
      sum +=
          area.within_m2({{all.low.x + i * w, all.low.y + j * h}, {all.low.x + (i + 1) * w, all.low.y + (j + 1) * h}});
    }
  }
  return sum;
}

std::vector<AnyOutline> outlines() {
  return {Ring{0, 1.5, {}},
          Ring{0.5, 1.1, {0.3, -0.4}},
          Sector{Ring{0.2, 1.4, {}}, 0.2, pi / 3},
          Sector{Ring{0, 1.2, {0.1, 0}}, -0.5, 1.5 * pi},
          Sector{Ring{0, 1, {}}, 1, 2 * pi},
          Rectangle{0.8, 0.5, {0.3, 0.1}},
          Polygon(regular_corners_m(6, 1.4, {}, 0.3)),
          Polygon({{0, 0}, {0, 1.2}, {0.4, 1.2}, {0.4, 0.5}, {0.9, 0.5}, {0.9, 0}}),
          Polygon({{-1.2, -0.7}, {1.2, 0}, {-1.2, 0.7}, {-0.5, 0}})};
}

/// Integral of sqrt(1 - x^2) from a to b.
double under_circle(double a, double b) {
  const auto from_0 = [](double x) { return (x * std::sqrt(1 - x * x) + std::asin(x)) / 2; };
  return from_0(b) - from_0(a);
}

const auto exactly = [](double x) { return Approx(x).epsilon(1e-12); };

}  // namespace

TEST_CASE("flat: bins add up to the outline's area", "[geometry][area]") {
  for (const AnyOutline& outline : outlines()) {
    CAPTURE(outline.index());
    for (const auto& [columns, rows] : {std::pair{1, 1}, {2, 2}, {7, 13}, {64, 64}}) {
      CAPTURE(columns, rows);
      const double sum = sum_of_bins(Plane{}, outline, columns, rows);
      CHECK(sum == exactly(area_m2(outline)));
      CHECK_FALSE(sum * (1 + 1e-9) == exactly(area_m2(outline)));
    }
  }
}

TEST_CASE("flat: bins that a circle cuts have their area in closed form", "[geometry][area]") {
  const AreaAbove disc(Plane{}, Ring{0, 1, {}});
  CHECK(disc.within_m2({{0, 0}, {1, 1}}) == exactly(pi / 4));
  CHECK(disc.within_m2({{0, 0}, {0.5, 1}}) == exactly(under_circle(0, 0.5)));
  const double end = std::sqrt(0.75);
  CHECK(disc.within_m2({{0.5, 0.5}, {1, 1}}) == exactly(under_circle(0.5, end) - 0.5 * (end - 0.5)));
  // A cap of half angle 0.1 has (2 t - sin 2 t) / 2, on any of the four sides.
  const double cap = (0.2 - std::sin(0.2)) / 2, edge = std::cos(0.1);
  for (const Box2& side :
       {Box2{{edge, -1}, {1, 1}}, {{-1, -1}, {-edge, 1}}, {{-1, edge}, {1, 1}}, {{-1, -1}, {1, -edge}}}) {
    CHECK(disc.within_m2(side) == Approx(cap).epsilon(1e-12));
  }
  // The hole takes away what it has in the bin.
  const AreaAbove ring(Plane{}, Ring{0.5, 1, {7, 0}});
  CHECK(ring.within_m2({{7, 0}, {8, 1}}) == exactly(pi * 0.75 / 4));
  CHECK(ring.within_m2({{7, -0.25}, {7.5, 0.25}}) == exactly(0.25 - 2 * 0.25 * under_circle(0, 0.5)));
  // Only the straight edges of this sector, 0 to 45 degrees, are within x < 0.5: a triangle less its tip.
  const AreaAbove sector(Plane{}, Sector{Ring{0, 1, {}}, 0, pi / 4});
  CHECK(sector.within_m2({{0.25, -1}, {0.5, 1}}) == exactly((0.25 - 0.0625) / 2));
}

TEST_CASE("flat: whole bins are whole and empty ones empty, to the bit", "[geometry][area]") {
  for (const AnyOutline& outline : outlines()) {
    const AreaAbove area(Plane{}, outline);
    CHECK(area.within_m2({{5, 5}, {6, 6}}) == 0);
    CHECK(area.within_m2({{-9, 0.001}, {-8, 0.002}}) == 0);  // in the outline's rows
    CHECK(area.within_m2({{8, 0.001}, {9, 0.002}}) == 0);
  }
  CHECK(AreaAbove(Plane{}, Ring{0, 1, {}}).within_m2({{-0.25, 0.125}, {0.5, 0.25}}) == 0.75 * 0.125);
  CHECK(AreaAbove(Plane{}, Ring{0.5, 1, {}}).within_m2({{-0.125, -0.125}, {0.25, 0.25}}) == 0);  // in the hole
  // The corner bin of a disc's bounds does not reach the rim: (1 - 1/4)^2 + (1 - 1/4)^2 > 1.
  CHECK(AreaAbove(Plane{}, Ring{0, 1, {}}).within_m2({{0.75, 0.75}, {1, 1}}) == 0);
  // Bins whose sides lie on the outline's.
  const AreaAbove rectangle(Plane{}, Rectangle{1, 2, {}});
  CHECK(rectangle.within_m2({{-1, -2}, {1, 2}}) == 8);
  CHECK(rectangle.within_m2({{0.5, 1}, {1, 2}}) == 0.5);
  CHECK(rectangle.within_m2({{1, 1}, {1.5, 2}}) == 0);
  CHECK(AreaAbove(Plane{}, Whole{}).within_m2({{0, 0}, {1, 1}}) == 0);
  CHECK(AreaAbove(Ball{2, 1}, Whole{}).within_m2({{0, 0}, {1, 1}}) == 0);
}

TEST_CASE("flat: polygons are cut as one half plane after the other cuts them", "[geometry][area]") {
  // I. E. Sutherland and G. W. Hodgman, Comm. ACM 17 (1974) 32: the bridges that it leaves between the parts of a
  // polygon that is not convex have no area.
  const auto cut_by = [](const std::vector<Vec2>& corners, const auto& depth) {  // keeps depth >= 0
    std::vector<Vec2> out;
    for (std::size_t i = 0; i < corners.size(); ++i) {
      const Vec2 &a = corners[i], &b = corners[(i + 1) % corners.size()];
      const double from = depth(a), to = depth(b), share = from / (from - to);
      if (from >= 0) out.push_back(a);
      if ((from < 0) != (to < 0)) out.push_back({a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)});
    }
    return out;
  };
  int cut = 0;
  for (const AnyOutline& outline : outlines()) {
    const auto* polygon = std::get_if<Polygon>(&outline);
    if (polygon == nullptr) continue;
    const AreaAbove area(Plane{}, outline);
    for (double x = -1.5; x < 1.5; x += 0.37) {
      for (double y = -1.5; y < 1.5; y += 0.29) {
        const Box2 bin{{x, y}, {x + 0.37, y + 0.29}};
        auto left = cut_by(polygon->corners_m(), [&](const Vec2& p) { return p.x - bin.low.x; });
        left = cut_by(left, [&](const Vec2& p) { return bin.high.x - p.x; });
        left = cut_by(left, [&](const Vec2& p) { return p.y - bin.low.y; });
        left = cut_by(left, [&](const Vec2& p) { return bin.high.y - p.y; });
        double twice = 0;
        for (std::size_t i = 0; i < left.size(); ++i) {
          const Vec2 &a = left[i], &b = left[(i + 1) % left.size()];
          twice += (a.x - x) * (b.y - y) - (b.x - x) * (a.y - y);
        }
        CHECK(area.within_m2(bin) == Approx(std::fabs(twice) / 2).epsilon(1e-12).margin(1e-15));
        cut += std::fabs(twice) > 2e-9 && std::fabs(twice) < 1.998 * 0.37 * 0.29;
      }
    }
  }
  CHECK(cut > 60);
}

TEST_CASE("curved: bins add up to the closed forms", "[geometry][area]") {
  // School geometry and elementary integration, as in entry_test.cpp.
  const auto is = [](double x) { return Approx(x).epsilon(1e-10); };
  for (const auto& [columns, rows] : {std::pair{1, 1}, {5, 4}, {64, 64}}) {
    CAPTURE(columns, rows);
    const auto area = [&, c = columns, r = rows](const AnySurface& s, const AnyOutline& o) {
      return sum_of_bins(s, o, c, r);
    };
    const auto cap = [](double r) { return 2 * pi * 2 * (2 - std::sqrt(4 - r * r)); };
    CHECK(area(Conic{1 / 4.0, 0}, Ring{0, 1.5, {}}) == is(8 * pi * 4 / 3 * (std::pow(1 + 2.25 / 16, 1.5) - 1)));
    CHECK(area(Conic{1 / 2.0, 1}, Ring{0, 1, {}}) == is(cap(1)));
    CHECK(area(Conic{-1 / 2.0, 1}, Ring{1, 1.9, {}}) == is(cap(1.9) - cap(1)));
    CHECK(area(Conic{1 / 2.0, 1}, Ring{0, 1.9999, {}}) == is(cap(1.9999)));  // all but a hemisphere
    CHECK(area(Conic{1 / 2.0, 1}, Sector{Ring{0, 1.9, {}}, 1, pi / 2}) == is(cap(1.9) / 4));
    const double t = 2.5 / 3;
    CHECK(area(Trough{1 / 3.0, 0}, Rectangle{2.5, 6, {}}) == is(12 * (2.5 * std::sqrt(1 + t * t) + 3 * std::asinh(t))));
    CHECK(area(Trough{1 / 3.0, 1}, Rectangle{2.999, 6, {}}) == is(12 * 3 * 2 * std::asin(2.999 / 3)));
    CHECK_FALSE(area(Conic{1 / 2.0, 1}, Ring{0, 1, {}}) * (1 + 1e-8) == is(cap(1)));
  }
  // Oblate ellipsoid x^2 + y^2 + 1.5 z^2 = 4 z nearly to its equator: half axes a = R / sqrt(q), c = R / q; its half
  // has pi a^2 + pi c^2 / e artanh(e), e^2 = 1 - c^2 / a^2 (Bronshtein, from memory). What lies beyond (1 - 1e-9) a is
  // a tube, to 1e-9 of itself.
  const double R = 2, q = 1.5, a = R / std::sqrt(q), c = R / q, e = std::sqrt(1 - c * c / (a * a));
  const double half = pi * a * a + pi * c * c / e * std::atanh(e);
  const double tube = 2 * pi * a * c * std::sqrt(1 - std::pow(1 - 1e-9, 2));
  const double found = sum_of_bins(Conic{1 / R, q}, Ring{0, a * (1 - 1e-9), {}}, 8, 8);
  CHECK(found == Approx(half - tube).epsilon(1e-7));
  CHECK_FALSE(found == Approx(half).epsilon(1e-7));
}

TEST_CASE("curved: bins that a circle cuts, against scipy", "[geometry][area]") {
  // scipy.integrate.quad of 1 / n.z over x in [0.9, 1.4], y in [0.3, 0.95] within r < 1.5, split where the rim enters.
  const Box2 bin{{0.9, 0.3}, {1.4, 0.95}};
  const auto area = [&](const AnySurface& s) { return AreaAbove(s, Ring{0, 1.5, {}}).within_m2(bin); };
  CHECK(area(Plane{}) == exactly(0.281825969964483));
  CHECK(area(Conic{1 / 4.0, 0}) == exactly(0.296122021564582));
  CHECK(area(Conic{1 / 2.0, 1}) == exactly(0.371726084080184));
  CHECK(area(Conic{1 / 2.0, 1.5}) == exactly(0.426132715885042));
}

TEST_CASE("fronts and apertures", "[geometry][area]") {
  CHECK(front_area_m2(Conic{1 / 20.0, 1}, Ring{0, 10, {}}) == exactly(2 * pi * 20 * (20 - std::sqrt(300.0))));
  CHECK(front_area_m2(Plane{}, Rectangle{3, 3.5, {}}) == 42);
  CHECK(front_area_m2(Cylinder{0.5, 1, 1}, Whole{}) == Approx(2 * pi).epsilon(1e-15));
  CHECK(front_area_m2(Ball{2, 1}, Whole{}) == Approx(16 * pi).epsilon(1e-15));
  // Projected along the axis, whatever the depth.
  CHECK(aperture_area_m2(Conic{1 / 20.0, 1}, Ring{5, 10, {3, 4}}) == Approx(75 * pi).epsilon(1e-15));
  CHECK(aperture_area_m2(Trough{1 / 3.0, 0}, Rectangle{2.5, 6, {}}) == 60);
  // A cone's wall covers the ring between its rims, 1.5 and 0.5 m, seen from above: inside where it opens upward.
  CHECK(aperture_area_m2(Cone{1, 0.5, 1, -1}, Whole{}) == Approx(pi * (2.25 - 0.25)).epsilon(1e-15));
  CHECK(aperture_area_m2(Cone{1, -0.5, 1, 1}, Whole{}) == Approx(pi * (2.25 - 0.25)).epsilon(1e-15));
  CHECK(aperture_area_m2(Cone{1, 0.5, 1, 1}, Whole{}) == 0);
  CHECK(aperture_area_m2(Cone{1, -0.5, 1, -1}, Whole{}) == 0);
  CHECK(aperture_area_m2(Cylinder{0.5, 1, 1}, Whole{}) == 0);
  CHECK(aperture_area_m2(Ball{2, 1}, Whole{}) == 0);
}
