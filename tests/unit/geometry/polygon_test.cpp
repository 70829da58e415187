// Polygons: refusals, repeated corners, shared edges, awkward places.
#include <catch2/catch.hpp>
#include <string>

#include "unit/geometry/rays.h"

using namespace catoptra;
using Corners = std::vector<Vec2>;

namespace {

std::string refusal(const Corners& corners) {
  try {
    const Polygon polygon(corners);
    return "";
  } catch (const std::invalid_argument& error) {
    return error.what();
  }
}

}  // namespace

TEST_CASE("polygons that are none are refused with the place", "[geometry]") {
  CHECK(refusal({{0, 0}, {1, 0}}) == "a polygon needs three different corners or more");
  CHECK(refusal({{0, 0}, {1, 0}, {0, 0}}) == "a polygon needs three different corners or more");
  CHECK(refusal({{0, 0}, {1, 0}, {infinity, 1}}) == "corner 3 of the polygon is not finite");
  CHECK(refusal({{0, 0}, {1, 1}, {1, 0}, {0, 1}}) ==
        "edges 1 and 3 of the polygon touch or cross (edge 1 joins corners 1 and 2)");
  CHECK(refusal({{0, 0}, {2, 0}, {1, 0}}) == "the polygon turns back on itself at corner 2");
  CHECK(refusal({{0, 0}, {4, 0}, {4, 4}, {2, 0}, {0, 4}}) ==  // a corner on another edge
        "edges 1 and 3 of the polygon touch or cross (edge 1 joins corners 1 and 2)");
  CHECK(refusal({{0, 0}, {4, 0}, {4, 4}, {0, 4}}).empty());
}

TEST_CASE("repeated corners and corners on a straight line change nothing", "[geometry]") {
  const Polygon plain({{0, 0}, {4, 0}, {4, 4}, {0, 4}});
  const Polygon wordy({{0, 0}, {1, 0}, {1, 0}, {2, 0}, {4, 0}, {4, 4}, {2, 4}, {0, 4}, {0, 0}});
  CHECK(wordy.corners_m().size() == 7);
  CHECK(wordy.area_m2() == plain.area_m2());
  CHECK(wordy.contains(1.0, 1.0));
}

TEST_CASE("a point on an edge between neighbours belongs to exactly one", "[geometry]") {
  // A square in four triangles round an inner corner; the points include corners and edges, on a dyadic grid.
  const Corners square{{0, 0}, {4, 0}, {4, 4}, {0, 4}};
  const Vec2 inner{1, 2};
  std::vector<Polygon> parts;
  for (std::size_t i = 0; i < 4; ++i) parts.emplace_back(Corners{square[i], square[(i + 1) % 4], inner});
  int wrong = 0;
  for (int i = 1; i < 256; ++i) {
    for (int j = 1; j < 256; ++j) {
      const double x = i / 64.0, y = j / 64.0;
      wrong += std::ranges::count_if(parts, [&](const Polygon& part) { return part.contains(x, y); }) != 1;
    }
  }
  CHECK(wrong == 0);
}

TEST_CASE("edges that are nearly level keep their digits far from the axis", "[geometry]") {
  // The lower edge rises by 1e-9 m over 2 m, a kilometre away from the origin. In exact binary steps: the edge's line
  // is y = 1000 + (x - 1000) 2^-31, and the points lie 2^-40 m above and below it (a double holds 2^-43 there).
  const double rise = 0x1p-31, hair = 0x1p-40;
  const Polygon strip({{1000, 1000}, {1002, 1000 + 2 * rise}, {1002, 1001}, {1000, 1001}});
  for (int i = 1; i < 8; ++i) {
    const double x = i / 4.0;
    CHECK(strip.contains(1000 + x, 1000 + x * rise + hair));
    CHECK_FALSE(strip.contains(1000 + x, 1000 + x * rise - hair));
  }
}

TEST_CASE("a polygon with many corners is cut whole", "[geometry]") {
  Corners star;  // 200 points of a star: area n r R sin(pi / n) of its n points
  for (int i = 0; i < 400; ++i) {
    const double r = i % 2 == 0 ? 2 : 0.5, angle = pi * i / 200;
    star.push_back({r * std::cos(angle), r * std::sin(angle)});
  }
  const Polygon polygon(star);
  CHECK(polygon.area_m2() == Approx(200 * 2 * 0.5 * std::sin(pi / 200)).epsilon(1e-12));
  Dice dice(5);
  int outside = 0;
  for (int i = 0; i < 20'000; ++i) {
    const double u = dice();
    const auto p = polygon.sample(u, dice());
    outside += !polygon.contains(p.x, p.y);
  }
  CHECK(outside == 0);
}

TEST_CASE("samples reach the corners of the unit square", "[geometry]") {
  const Polygon polygon({{0, 0}, {0, 3}, {1, 3}, {1, 1}, {2, 1}, {2, 0}});
  for (const double u : {0.0, 0.25, 0.5, 0.75, 1.0, 1 - 0x1p-53}) {
    for (const double v : {0.0, 0.5, 1.0}) {
      const auto p = polygon.sample(u, v);
      CHECK((p.x >= 0 && p.x <= 2 && p.y >= 0 && p.y <= 3));
    }
  }
}
