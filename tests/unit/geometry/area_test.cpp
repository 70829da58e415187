// Areas of surfaces and of their parts inside rectangles, against closed forms and scipy.
#include "geometry/area.h"

#include <catch2/catch.hpp>
#include <random>

#include "geometry/bounded_integral.h"
#include "geometry/vector_area.h"
#include "support/broken_promise.h"

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

TEST_CASE("curved: small, oblique and far rims, up to the equator, against mpmath", "[geometry][area]") {
  // Plain double integrals of the slant by tanh-sinh rules, 25 digits: area_reference.py. An exact function of the
  // corners that stand there; what they are read with is off by 1e-16 of them, which an equator close by magnifies.
  struct Case {
    AnySurface surface;
    AnyOutline outline;
    Box2 box;
    double area_m2;
  };
  const std::vector<Case> cases{
#include "area_reference.inc"
  };
  REQUIRE(cases.size() == 23);
  for (std::size_t i = 0; i < cases.size(); ++i) {
    CAPTURE(i);
    const auto& [surface, outline, box, expected] = cases[i];
    const double share = std::fmin(area_m2(outline), (box.high.x - box.low.x) * (box.high.y - box.low.y));
    const double found = AreaAbove(surface, outline).within_m2(box);
    CHECK(std::fabs(found - expected) < 1e-9 * share);
    CHECK_FALSE(std::fabs(found + 2e-9 * share - expected) < 1e-9 * share);
  }
}

TEST_CASE("the work of an integral has a bound, whatever the integrand", "[geometry][area]") {
  long calls = 0;
  const auto rough = [&](double x) {  // no rule agrees with another on it
    ++calls;
    const double y = std::sin(12345.678 * x) * 43758.5453;
    return y - std::floor(y);
  };
  bounded_integral(rough, 0, 1, 0);
  CHECK(calls <= 15 * 401);
  CHECK(calls > 15 * 300);
  // A root and a pole at an end, where a rule that wants each piece to 1e-11 of itself halves without end.
  calls = 0;
  const auto counted = [&](auto f) { return [&calls, f](double x) { return ++calls, f(x); }; };
  CHECK(bounded_integral(counted([](double x) { return std::sqrt(x); }), 0, 1, 1e-12) == exactly(2 / 3.0));
  CHECK(bounded_integral(counted([](double x) { return 1 / std::sqrt(x); }), 1, 0, 1e-6) == Approx(-2).epsilon(1e-6));
  CHECK(calls < 15 * 200);
  CHECK(bounded_integral([](double x) { return x * x; }, 2, 2, 1e-9) == 0);
}

TEST_CASE("random curved receivers: bins come to the whole front, and soon", "[geometry][area]") {
  std::mt19937_64 random(14);
  const auto in = [&](double low, double high) { return std::uniform_real_distribution<double>(low, high)(random); };
  int steep = 0;
  for (int turn = 0; turn < 120; ++turn) {
    CAPTURE(turn);
    const double scale = std::pow(10, in(-5, 3)), R = scale * in(0.3, 3);
    const Vec2 aside{turn % 3 == 0 ? 0 : scale * in(-0.3, 0.3), turn % 3 == 0 ? 0 : scale * in(-0.3, 0.3)};
    std::vector<AnyOutline> outlines{Ring{0, scale * in(0.05, 0.6), aside}, Rectangle{scale * 0.3, scale * 0.02, aside},
                                     Polygon(regular_corners_m(3 + turn, scale * in(0.05, 0.6), aside, in(0, 6)))};
    const double radius_m = scale * in(0.05, 0.6);
    outlines.push_back(Sector{Ring{radius_m * in(0, 0.9), radius_m, aside}, in(0, 6), in(0.1, 6.2)});
    outlines.push_back(Polygon({{aside.x, aside.y}, {aside.x + scale, aside.y + 1e-3 * scale}, {aside.x, scale}}));
    const AnyOutline& outline = outlines[static_cast<std::size_t>(turn) % 5];
    const double reach_m = radius_span_m(outline).largest_m;
    // Half of them end a millionth short of their equator, where they have one.
    const double q = turn % 4 == 1 ? 1 : in(-8, 3);
    const bool to_equator = q > 0 && (turn / 2 % 2 == 0 || std::sqrt(q) * reach_m >= R);
    const double c = to_equator ? (1 - 1e-6) / (std::sqrt(q) * reach_m) : 1 / R;
    steep += to_equator ? 1 : 0;
    std::vector<AnySurface> surfaces{Conic{c, q}, Trough{c, q}};
    if (!to_equator) surfaces.emplace_back(Asphere(c, q, {0.1 / std::pow(R, 3), 0, -0.1 / std::pow(R, 7), 0}, reach_m));
    for (const AnySurface& surface : surfaces) {
      CAPTURE(surface.index());
      const double whole = front_area_m2(surface, outline);
      CHECK(whole >= area_m2(outline) * (1 - 1e-9));
      CHECK(sum_of_bins(surface, outline, 23, 40) == Approx(whole).epsilon(2e-9));
    }
  }
  CHECK(steep > 20);
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

TEST_CASE("areas: a rectangle turned over and a direction of no unit length break promises", "[area][expects]") {
  const AreaAbove above(Plane{}, Ring{0, 1, {}});
  CHECK(catoptra::test::is_refused([&] { (void)above.within_m2({{0.5, 0}, {0.4, 1}}); }));
  CHECK_NOTHROW(above.within_m2({{0.4, 0}, {0.5, 1}}));
  const Facing facing(Plane{}, Ring{0, 1, {}});
  CHECK(catoptra::test::is_refused([&] { (void)facing.area_m2({0, 0, 1.1}); }));
  CHECK_NOTHROW(facing.area_m2({0, 0, 1}));
}
