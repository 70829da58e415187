// Areas of flux bins: closed forms, summed and one by one.
#include "trace/tally/flux_grid.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <numeric>
#include <stdexcept>
#include <utility>

using namespace catoptra;

namespace {

std::vector<double> areas_m2(const AnySurface& surface, const AnyOutline& outline, std::array<int, 2> bins) {
  return FluxGrid(surface, outline, bins).blank_map().area_m2;
}
double sum(const std::vector<double>& all) {
  return std::accumulate(all.begin(), all.end(), 0.0);
}
const auto is = [](double x) { return Approx(x).epsilon(1e-12); };

}  // namespace

TEST_CASE("flux bins add up to the receiver's front", "[trace][flux]") {
  CHECK(sum(areas_m2(Plane{}, Ring{0, 0.05, {}}, {64, 64})) == is(pi * 0.05 * 0.05));
  CHECK(sum(areas_m2(Plane{}, Ring{0.01, 0.05, {2, 3}}, {15, 20})) == is(pi * (0.05 * 0.05 - 0.01 * 0.01)));
  CHECK(sum(areas_m2(Conic{1 / 2.0, 1}, Ring{0, 1, {}}, {30, 31})) == is(4 * pi * (2 - std::sqrt(3.0))));
  CHECK(sum(areas_m2(Cylinder{0.4, 0.75, 1}, Whole{}, {96, 60})) == is(4 * pi * 0.4 * 0.75));
  CHECK(sum(areas_m2(Cone{1, 0.5, 1, -1}, Whole{}, {9, 7})) == is(2 * pi * std::hypot(1, 2)));
  CHECK(sum(areas_m2(Ball{2, 1}, Whole{}, {9, 7})) == is(16 * pi));
  CHECK_FALSE(sum(areas_m2(Plane{}, Ring{0, 0.05 * (1 + 1e-9), {}}, {64, 64})) == is(pi * 0.05 * 0.05));
}

TEST_CASE("flux bins that no rim cuts are whole, those outside are empty", "[trace][flux]") {
  const auto areas = areas_m2(Plane{}, Ring{0, 1, {}}, {8, 8});
  const auto at = [&](int i, int j) { return areas[static_cast<std::size_t>(i * 8 + j)]; };
  CHECK(at(3, 4) == 0.0625);
  CHECK(at(0, 0) == 0);  // its nearest corner lies at (0.75, 0.75)
  // The rim enters the first row's middle bins only: x from -1 to -sqrt(1 - y^2).
  const auto under = [](double y) { return (y * std::sqrt(1 - y * y) + std::asin(y)) / 2; };
  CHECK(at(0, 4) == is(under(0.25) - 0.25 * 0.75));
  for (const double area : areas_m2(Plane{}, Rectangle{0.3, 0.7, {1, 1}}, {7, 3})) CHECK(area == is(0.6 * 1.4 / 21));
}

TEST_CASE("slivers are counted with the largest of their neighbours, whole bins with none", "[trace][flux]") {
  for (const AnySurface& surface : {AnySurface{Plane{}}, AnySurface{Conic{1 / 1.01, 1}}}) {
    const FluxGrid grid(surface, Ring{0, 1, {}}, {37, 20});
    const auto area = grid.blank_map().area_m2;
    const auto host = grid.hosts(area);
    const double whole = 4.0 / (37 * 20);
    int slivers = 0;
    for (int b = 0; b < grid.bins(); ++b) {
      CAPTURE(b, area[b] / whole);
      const bool sliver = area[b] > 0 && area[b] < 0.25 * whole;
      CHECK((host[b] != b) == sliver);
      if (!sliver) continue;
      ++slivers;
      CHECK(std::abs(host[b] / 20 - b / 20) <= 1);
      CHECK(std::abs(host[b] % 20 - b % 20) <= 1);
      CHECK(area[host[b]] >= 0.25 * whole);
      // None beside it is larger.
      for (const int step : {-20, 20, -1, 1}) {
        if (b + step >= 0 && b + step < grid.bins()) CHECK(area[host[b]] >= area[b + step]);
      }
    }
    CHECK(slivers > 10);
  }
  // A ring thinner than a bin: slivers stand beside slivers.
  const FluxGrid thin(Plane{}, Ring{0.99, 1, {}}, {10, 10});
  const auto area = thin.blank_map().area_m2;
  const auto host = thin.hosts(area);
  int alone_small = 0, moved = 0;
  for (int b = 0; b < thin.bins(); ++b) {
    if (area[b] > 0) CHECK(host[host[b]] == host[b]);
    alone_small += area[b] > 0 && area[b] < 0.01 && host[b] == b;
    moved += host[b] != b;
  }
  CHECK(alone_small > 0);
  CHECK(moved > 0);
  // All bins of a tube, and of a ball, are as large.
  for (const AnySurface& surface : {AnySurface{Cylinder{0.4, 0.75, 1}}, AnySurface{Ball{2, 1}}}) {
    const FluxGrid grid(surface, Whole{}, {8, 30});
    const auto alone = grid.hosts(grid.blank_map().area_m2);
    for (int b = 0; b < grid.bins(); ++b) CHECK(alone[b] == b);
  }
}

TEST_CASE("slivers of any outline are counted with a bin that is none", "[trace][flux]") {
  for (const AnyOutline& outline :
       {AnyOutline{Sector(Ring{0, 1, {}}, 0.3, 1.2)}, AnyOutline{Sector(Ring{0.4, 1, {2, -1}}, 2, 4)},
        AnyOutline{Polygon({{0, 0}, {3, 0.4}, {1, 2}})}, AnyOutline{Ring{0.5, 1, {}}}}) {
    const FluxGrid grid(Plane{}, outline, {37, 20});
    const auto area = grid.blank_map().area_m2;
    const auto host = grid.hosts(area);
    const Box2 bounds = box(outline);
    const double whole = (bounds.high.x - bounds.low.x) * (bounds.high.y - bounds.low.y) / (37 * 20);
    int slivers = 0, left = 0;
    for (int b = 0; b < grid.bins(); ++b) {
      const bool sliver = area[b] > 0 && area[b] < 0.25 * whole;
      slivers += sliver ? 1 : 0;
      left += sliver && area[host[b]] < 0.25 * whole ? 1 : 0;
      if (!sliver) CHECK(host[b] == b);
    }
    CAPTURE(outline.index());
    CHECK(slivers > 10);
    CHECK(left == 0);
  }
}

TEST_CASE("bins near the tip of a cone are counted with neighbours at their height", "[trace][flux]") {
  // Radius r = 1 + z up to z = 1: of n rows row j, from the tip, has (2 j + 1) / (2 n - 1) of the last row's area.
  for (const double growth : {1.0, -1.0}) {
    constexpr int around = 10, rows = 30;
    const FluxGrid grid(Cone{1, growth, 1, 1}, Whole{}, {around, rows});
    const auto area = grid.blank_map().area_m2;
    const auto host = grid.hosts(area);
    for (int row = 0; row < rows; ++row) {
      const int from_tip = growth > 0 ? row : rows - 1 - row;
      const double share = (2 * from_tip + 1) / 59.0;  // of the largest bin
      CAPTURE(growth, from_tip);
      for (int i = 0, left = 0; i < around; ++i, --left) {
        const int bin = i * rows + row;
        if (left == 0) {  // a group begins
          CHECK(host[bin] == bin);
          while (i + left < around && host[(i + left) * rows + row] == bin) ++left;
          REQUIRE(left > 0);
          // As many as make up a quarter, or all; never so many that two groups could be made of them.
          CHECK((left * share > 0.25 || left == around));
          CHECK(((left / 2) * share < 0.25 || left == 1));
        } else {
          CHECK(host[bin] == host[bin - rows]);
        }
      }
    }
    CHECK(host[(around - 1) * rows + (growth > 0 ? 0 : rows - 1)] == (growth > 0 ? 0 : rows - 1));  // a ring of 10 / 59
  }
}

TEST_CASE("surfaces that hold no flux map are refused", "[trace][flux]") {
  CHECK_THROWS_WITH(FluxGrid(Cpc(CpcProfile(0.5, 0.1)), Whole{}, {8, 8}),
                    "a flux map needs a surface above an outline, a tube, a cone or a ball");
  CHECK_THROWS_AS(FluxGrid(CpcTrough(CpcProfile(0.5, 0.1), 2), Whole{}, {8, 8}), std::invalid_argument);
}

TEST_CASE("the radius of a place counts from the middle of the outline, east and north apart", "[trace][flux]") {
  // Two middles that lie neither in the origin nor on the diagonal; places a known way from them.
  const std::pair<FluxGrid, Vec2> grids[] = {{FluxGrid(Plane{}, Ring{0, 1, {3, -2}}, {8, 8}), {3, -2}},
                                             {FluxGrid(Plane{}, Rectangle{0.6, 0.8, {-1, 4}}, {8, 8}), {-1, 4}}};
  for (const auto& [grid, middle] : grids) {
    const double step_m = grid.radius_edges_m().at(1);
    for (int turn = 0; turn < 8; ++turn)
      for (const int ring : {0, 3, 17, 40}) {
        const double radius_m = (ring + 0.5) * step_m, angle = turn * pi / 4;
        const Vec3<Pack> at{Pack(middle.x + radius_m * std::cos(angle)), Pack(middle.y + radius_m * std::sin(angle)),
                            Pack(0.0)};
        CAPTURE(turn, ring);
        CHECK(grid.places(at).radius_bin.get(0) == ring);
      }
  }
}
