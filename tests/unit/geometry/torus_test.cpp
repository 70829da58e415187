// Tori: hits against a quartic solved elsewhere, area, curvature, and where toroidal mirrors bring light.
#include "geometry/kinds/torus.h"

#include <catch2/catch.hpp>

#include "geometry/area.h"
#include "unit/geometry/shapes.h"

using namespace catoptra;

namespace {

struct Row {
  double rx, ry;
  Vec p, d;
  double t;  // 0: no hit
};
const Row rows[] = {
#include "unit/geometry/torus_reference.inc"
};

}  // namespace

TEMPLATE_TEST_CASE("torus: rays meet it where the quartic has its roots", "[geometry][torus]", double, Pack) {
  int hits = 0, misses = 0;
  for (const Row& row : rows) {
    const Torus torus{1 / row.rx, 1 / row.ry};
    const double got = distances_m<TestType>(torus, Rectangle{1.5, 1.2, {}}, {Ray{row.p, row.d, false}}).front();
    CAPTURE(row.rx, row.ry, row.p.x, row.t, got);
    if (row.t == 0) {
      ++misses;
      CHECK(got == infinity);
      continue;
    }
    ++hits;
    const Vec at = point_along(row.p, row.d, got);
    const double cosine = std::fabs(dot(torus.normal(at), row.d));
    CHECK(std::fabs(got - row.t) <= 32 * 0x1p-53 * (2 / cosine + row.t));
  }
  CHECK(hits > 100);
  CHECK(misses > 20);
}

TEST_CASE("torus: a ray that leaves it meets it again where a ray from afar would", "[geometry][torus]") {
  const Torus deep{1 / 4.0, 1 / 2.0};
  const Ring rim{0, 1.9, {}};
  Dice dice(4);
  int again = 0, rising = 0;
  for (int i = 0; i < 400; ++i) {
    const Vec from = entry_point(deep, rim, dice(), dice()).point_m,
              to = entry_point(deep, rim, dice(), dice()).point_m;
    const Vec d = unit(to - from);
    // Inside a bowl the straight line from one point to another meets nothing between.
    const double got = hit_distance_m(deep, rim, from, d, true);
    CHECK(got == Approx(length(to - from)).epsilon(1e-9));
    ++again;
    if (d.z > 0) ++rising;
    CHECK(hit_distance_m(deep, rim, from, deep.normal(from), true) > 1);  // straight up: nothing near
  }
  CHECK(again == 400);
  CHECK(rising > 100);
}

TEST_CASE("torus: the area of a patch, part by part the whole torus", "[geometry][torus]") {
  // Pappus: of the torus with the radii R and r, 4 pi^2 R r. Between the azimuths -u and u and the angles -v and v of
  // the tube, 2 u r (2 R v + 2 r sin v) (integral of (R + r cos v) r; I. N. Bronshtein et al., Handbook of Mathematics,
  // from memory). The outside and the inside of the tube, half each, add up to Pappus' area.
  const double R = 4, r = 1.5;
  const auto closed = [&](double u, double v) { return 2 * u * r * (2 * R * v + 2 * r * std::sin(v)); };
  CHECK(closed(pi, pi) == Approx(4 * pi * pi * R * r));
  for (const double side : {1.0, -1.0}) {  // the tube's outside, seen from within; its inside, a saddle
    const double u = 0.5, v = 0.9, section = side * r;
    const Torus torus{1 / (R + section), 1 / section};
    std::vector<Vec2> corners;
    constexpr int n = 60;
    for (const auto& [from, to] : {std::pair{Vec2{-u, -v}, Vec2{u, -v}}, std::pair{Vec2{u, -v}, Vec2{u, v}},
                                   std::pair{Vec2{u, v}, Vec2{-u, v}}, std::pair{Vec2{-u, v}, Vec2{-u, -v}}}) {
      for (int i = 0; i < n; ++i) {
        const double a = from.x + (to.x - from.x) * i / n, b = from.y + (to.y - from.y) * i / n;
        corners.push_back({(R + section * std::cos(b)) * std::sin(a), r * std::sin(b)});
      }
    }
    const double expected = 2 * u * r * (2 * R * v + 2 * section * std::sin(v));
    CHECK(front_area_m2(torus, Polygon(corners)) == Approx(expected).epsilon(2e-4));  // chords for arcs
    CHECK(expected != Approx(2 * u * r * (2 * R * v + 2 * section * std::sin(v * 1.001))).epsilon(1e-5));
  }
}

TEST_CASE("torus: the mean curvature away from the vertex", "[geometry][torus]") {
  // (R + 2 r cos v) / (2 r (R + r cos v)): M. P. do Carmo, Differential Geometry of Curves and Surfaces, example of the
  // torus (from memory). Here half the divergence of the normals, which a function of x and y carries along z.
  const double R = 4, r = 1.5, h = 1e-4;
  const Torus torus{1 / (R + r), 1 / r};
  for (const double v : {0.0, 0.3, 0.7, 1.0}) {
    for (const double u : {0.0, 0.4}) {
      const double x = (R + r * std::cos(v)) * std::sin(u), y = r * std::sin(v);
      const auto n = [&](double dx, double dy) { return torus.normal(Vec{x + dx, y + dy, torus.sag(x + dx, y + dy)}); };
      const double divergence = (n(h, 0).x - n(-h, 0).x + n(0, h).y - n(0, -h).y) / (2 * h);
      CHECK(-divergence / 2 == Approx((R + 2 * r * std::cos(v)) / (2 * r * (R + r * std::cos(v)))).epsilon(1e-6));
    }
  }
}

TEST_CASE("torus: slanting light comes to the foci that Coddington's equations give", "[geometry][torus]") {
  // For a distant sun at the incidence i: tangential R_t cos(i) / 2 from the vertex, sagittal R_s / (2 cos(i))
  // (Coddington; M. Born and E. Wolf, Principles of Optics, section 4.6, from memory). x lies in the plane of
  // incidence.
  const double incidence = 35 * units::degree_rad, focus_m = 10;
  const TorusShape shape{2 * focus_m / std::cos(incidence), 2 * focus_m * std::cos(incidence)};
  const auto crossing_m = [&](const Torus& torus, const Vec& offset) {
    // Two rays either side of the vertex, reflected: the distance along the middle one at which they come together.
    const Vec toward_sun{std::sin(incidence), 0, std::cos(incidence)}, along{-toward_sun.x, 0, toward_sun.z};
    const auto reflected = [&](const Vec& shift) {
      const Vec p = toward_sun + shift;
      const double t = hit_distance_m(torus, Ring{0, 0.5, {}}, p, -1.0 * toward_sun, false);
      const Vec at = point_along(p, -1.0 * toward_sun, t), n = torus.normal(at);
      const Vec in = -1.0 * toward_sun, out = in - (2 * dot(in, n)) * n;
      // As a point of the plane through the vertex across the middle ray, and what a metre along that ray adds.
      const Vec a_metre = (1 / dot(out, along)) * out;
      return std::pair{at - dot(at, along) * a_metre, a_metre};
    };
    const auto [a, da] = reflected(offset);
    const auto [b, db] = reflected(-1.0 * offset);
    const Vec apart = b - a, lean = da - db;
    return dot(apart, lean) / dot(lean, lean);
  };
  const Torus both = std::get<Torus>(shape.surface());
  constexpr double small = 1e-3;
  CHECK(crossing_m(both, {small * std::cos(incidence), 0, -small * std::sin(incidence)}) ==
        Approx(focus_m).epsilon(1e-6));
  CHECK(crossing_m(both, {0, small, 0}) == Approx(focus_m).epsilon(1e-6));
  // A sphere has two foci, apart.
  const Torus sphere{1 / 20.0, 1 / 20.0};
  CHECK(crossing_m(sphere, {small * std::cos(incidence), 0, -small * std::sin(incidence)}) ==
        Approx(10 * std::cos(incidence)).epsilon(1e-6));
  CHECK(crossing_m(sphere, {0, small, 0}) == Approx(10 / std::cos(incidence)).epsilon(1e-6));
}
