// Facets and leaning ground: where copies stand and where they look, against formulas of their own.
#include "scene/facets.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "geometry/kinds/apertures.h"
#include "numeric/lanes.h"
#include "scene/describe.h"
#include "small_scene.h"

namespace catoptra {
namespace {

constexpr double exact = 1e-14;

FacetGrid grid(std::array<int, 2> count, double focus_distance_m, int support = 0) {
  FacetGrid out;
  out.count = count;
  out.gap_m = {0.1, 0.3};
  out.focus_distance_m = focus_distance_m;
  out.support.index = support;
  return out;
}

/// Right-handed, of unit vectors, and turned from z without twist: the level line across the turn keeps its direction.
void check_untwisted(const Frame& frame) {
  CHECK(length(cross(frame.ex, frame.ey) - frame.ez) < exact);
  CHECK(length(frame.ex) == Approx(1).epsilon(exact));
  CHECK(std::fabs(dot(frame.ex, frame.ey)) < exact);
  const Vec axis{-frame.ez.y, frame.ez.x, 0};
  CHECK(std::fabs(dot(axis, frame.ex) - axis.x) < exact);
  CHECK(std::fabs(dot(axis, frame.ey) - axis.y) < exact);
}

TEST_CASE("facets: a grid with gaps, x fastest, each tilted by half of atan(r / L)", "[scene][facets]") {
  const auto frames = grid({4, 3}, 100).frames({1.5, 0.7});
  REQUIRE(frames.size() == 12);
  for (std::size_t i = 0; i < frames.size(); ++i) {
    // Pitch 1.6 along x and 1.0 along y.
    const double x = (static_cast<double>(i % 4) - 1.5) * 1.6, y = (static_cast<double>(i / 4) - 1.0) * 1.0;
    const Frame& frame = frames[i];
    CHECK(length(frame.origin - Vec{x, y, 0}) < exact);
    const double r = std::hypot(x, y), tilt = std::atan(r / 100) / 2;  // docs/theory/facets.md
    CHECK(length(frame.ez - Vec{-std::sin(tilt) * x / r, -std::sin(tilt) * y / r, std::cos(tilt)}) < exact);
    check_untwisted(frame);
  }
  // atan(5 / 100) / 2 = 24.979197861 mrad and atan(5 / 50) / 2 = 49.834326246 mrad, with a pocket calculator's digits.
  CHECK(std::asin(canted_normal({5, 0, 0}, {0, 0, 100}).x) == Approx(-24.979197861e-3).epsilon(1e-10));
  CHECK(std::asin(canted_normal({0, -5, 0}, {0, 0, 50}).y) == Approx(49.834326246e-3).epsilon(1e-10));
}

TEST_CASE("facets on a paraboloid have its normals", "[scene][facets]") {
  const double f = 3;
  for (const Frame& frame : grid({5, 4}, f, 1).frames({1, 1})) {
    const double x = frame.origin.x, y = frame.origin.y;
    CHECK(frame.origin.z == Approx((x * x + y * y) / (4 * f)).margin(exact));
    CHECK(length(frame.ez - unit(Vec{-x / (2 * f), -y / (2 * f), 1})) < exact);  // of z = (x^2 + y^2) / (4 f)
    check_untwisted(frame);
  }
}

TEST_CASE("facets without a focus face along the axis", "[scene][facets]") {
  for (const Frame& frame : grid({3, 2}, 0).frames({1, 1})) CHECK(frame.is_upright());
}

const std::string square = R"(shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 1, length_m = 0.5 }
)";
const std::string of_bowl =
    "shape = { kind = \"sphere\", radius_m = 20 }\naperture = { kind = \"circle\", diameter_m = 20 }\n";

Scene scene_of(std::string text) {
  auto outcome = read_scene_text(std::move(text), "s.toml");
  for (const auto& problem : outcome.problems) UNSCOPED_INFO(problem.text());
  REQUIRE(outcome.scene);
  return std::move(*outcome.scene);
}

TEST_CASE("facets turn with their mount, copy by copy; what is carried knows none", "[scene][facets][placement]") {
  const Scene scene = scene_of(
      varied(of_bowl, square + "facets = { kind = \"grid\", count = [3, 2], gap_m = [0.1, 0], focus_distance_m = 8 }\n"
                               "array = { kind = \"grid\", count = [2, 1], spacing_m = [30, 30] }\n") +
      "[[obstacle]]\nname = \"arm\"\nshape = { kind = \"disc\", diameter_m = 0.1 }\n"
      "mount = { kind = \"carried\", by = \"bowl\", position_m = [0, 0, 3] }\n");
  CHECK(scene.components[0].mounts() == 2);
  CHECK(scene.components[0].copies() == 12);
  CHECK(scene.components[2].copies() == 2);
  Scene tracking = scene;
  tracking.components[0].mount = TwoAxisMount{{0, 0, 5}, {0, 0, 1}, {}, {}};
  const Vec to_sun = unit(Vec{0.3, -0.5, 0.8});
  const Layout layout = place(tracking, to_sun);
  REQUIRE(layout.placed.size() == 12 + 1 + 2);
  for (std::size_t copy = 0; copy < 2; ++copy) {
    const Vec middle = Vec{copy == 0 ? -15.0 : 15.0, 0, 5} + to_sun, focus = middle + 8 * to_sun;
    for (std::size_t i = 0; i < 6; ++i) {
      const Frame& facet = layout.placed[6 * copy + i].frame;
      const Vec from_middle = facet.origin - middle;
      CHECK(std::fabs(dot(from_middle, to_sun)) < 1e-13);  // on the plane that the mount turns
      const double column = (static_cast<double>(i % 3) - 1) * 1.1, row = (static_cast<double>(i / 3) - 0.5) * 0.5;
      CHECK(length(from_middle) == Approx(std::hypot(column, row)).epsilon(1e-12));
      // The sun's ray on the middle of a facet goes to the focus.
      const Vec out = 2 * dot(facet.ez, to_sun) * facet.ez - to_sun;
      CHECK(length(cross(out, focus - facet.origin)) < 1e-12);
    }
    const Frame& arm = layout.placed[13 + copy].frame;
    CHECK(length(arm.origin - (middle + 3 * to_sun)) < 1e-13);
    CHECK(length(arm.ez - to_sun) < 1e-14);
  }
}

/// Something alone on ground that leans.
Frame standing(const AnyMount& mount, const Frame& ground, const Vec& to_sun) {
  Scene scene;
  Component bowl, it;
  bowl.name = "bowl", it.name = "it";
  bowl.surface = Conic{1 / 20.0, 1};
  bowl.outline = it.outline = Ring{0, 0.5, {0, 0}};
  it.mount = mount;
  it.array = {ground};
  scene.components = {bowl, it};
  return place(scene, to_sun).placed[1].frame;
}

TEST_CASE("what stands on leaning ground leans, but still looks at the sun and its aim point", "[scene][placement]") {
  const Frame ground = tilted({30, -20, 4}, unit(Vec{0.2, 0.1, 1}));
  const Vec to_sun = unit(Vec{0.3, -0.5, 0.8});
  const auto on_ground = [&](const Vec& p) { return ground.point_to_world(p); };

  const Frame fixed = standing(FixedMount{{1, 2, 3}, {0, 0, 1}, 0}, ground, to_sun);
  CHECK(length(fixed.origin - on_ground({1, 2, 3})) < 1e-13);
  CHECK(length(fixed.ez - ground.ez) < 1e-14);
  CHECK(length(fixed.ex - ground.ex) < 1e-14);

  const Frame tracker = standing(TwoAxisMount{{0, 0, 5}, {0, 0, 1}, {}, {}}, ground, to_sun);
  CHECK(length(tracker.ez - to_sun) < 1e-14);
  CHECK(length(tracker.origin - (on_ground({0, 0, 5}) + to_sun)) < 1e-13);

  HeliostatMount heliostat;
  heliostat.position_m = {0, 0, 2};
  heliostat.aim_m = {0, 0, 60};
  const Frame mirror = standing(heliostat, ground, to_sun);
  const Vec at = on_ground({0, 0, 2});
  CHECK(length(mirror.origin - at) < 1e-13);
  CHECK(length(2 * dot(mirror.ez, to_sun) * mirror.ez - to_sun - unit(Vec{0, 0, 60} - at)) < 1e-13);

  SingleAxisMount trough;
  trough.pivot_m = {0, 0, 3};
  const Frame turned = standing(trough, ground, to_sun);
  CHECK(length(turned.ey - ground.ey) < 1e-14);
  CHECK(std::fabs(dot(cross(turned.ey, turned.ez), to_sun)) < 1e-14);  // the sun lies in the plane of y and z

  SharedDriveMount row;
  row.aim_m = on_ground({5, 0, 9});  // a line along the ground's y, 9 m above it
  const Frame drive = standing(row, ground, to_sun);
  const Vec across_sun = ground.direction_to_local(to_sun), normal = ground.direction_to_local(drive.ez);
  CHECK(std::atan2(normal.x, normal.z) ==
        Approx((std::atan2(across_sun.x, across_sun.z) + std::atan2(5, 9)) / 2).epsilon(1e-12));

  BisectorMount bisector;
  bisector.primary = "bowl";
  bisector.aim_m = {-4.8, 8, 7};
  const Frame upright = standing(bisector, {}, to_sun), fold = standing(bisector, ground, to_sun);
  CHECK(length(fold.origin - upright.origin) < 1e-12);  // a law of the bowl and the aim point: no ground can change it
  CHECK(length(fold.ez - upright.ez) < 1e-13);
  TurnAboutCentreMount turning;
  turning.primary = "bowl";
  turning.position_m = {0, 0, -9};
  CHECK(length(standing(turning, ground, to_sun).origin - standing(turning, {}, to_sun).origin) < 1e-12);
}

TEST_CASE("frames out of a file: places and normals of any length, without twist", "[scene][facets]") {
  FrameTable table;
  table.file = {"f.csv", {{1, 2, 3, 0, 0, 7}, {4, 5, 6, 3, 0, 4}, {0, 0, 0, 1, -2, -0.5}}};
  table.check();
  const auto frames = table.frames();
  REQUIRE(frames.size() == 3);
  CHECK(frames[0].is_upright());
  CHECK(frames[0].origin == Vec{1, 2, 3});
  CHECK(length(frames[1].ez - Vec{0.6, 0, 0.8}) < exact);
  CHECK(length(frames[1].ex - Vec{0.8, 0, -0.6}) < exact);
  for (const Frame& frame : frames) check_untwisted(frame);
  table.file.rows.push_back({0, 0, 0, 0, 0, -1});
  CHECK_THROWS_WITH(table.check(), "row 4 of f.csv is no frame: normal [0, 0, -1]");
  table.file.rows.back() = {0, 0, 0, 0, 0, 0};
  CHECK_THROWS_WITH(table.check(), "row 4 of f.csv is no frame: normal [0, 0, 0]");
}

TEST_CASE("facets: what is said of wrong ones", "[scene][messages][facets]") {
  check({
      {of_bowl, square + R"(facets = { kind = "grid", count = [2, 0], focus_distance_m = 5 })" + "\n",
       R"(s.toml:15:39: error: 'count' in facets of primary 'bowl' is out of range
   15 | facets = { kind = "grid", count = [2, 0], focus_distance_m = 5 }
      |                                       ^
  found: number 0
  allowed: two whole numbers [n, m], each from 1 to 1000
)"},
      {of_bowl,
       square + R"(facets = { kind = "grid", count = [2, 2], gap_m = [0, -0.01], focus_distance_m = 5 })" + "\n",
       R"(s.toml:15:55: error: 'gap_m' in facets of primary 'bowl' is out of range
   15 | facets = { kind = "grid", count = [2, 2], gap_m = [0, -0.01], focus_distance_m = 5 }
      |                                                       ^^^^^
  found: number -0.01
  allowed: two numbers [x, y], each from 0 to 1000, in m
)"},
      {of_bowl, square + R"(facets = { kind = "grid", count = [2, 2] })" + "\n",
       R"(s.toml:15:10: error: missing key 'focus_distance_m' in facets of primary 'bowl'
   15 | facets = { kind = "grid", count = [2, 2] }
      |          ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  allowed: a number from 0 to 1000000, in m
)"},
      {of_bowl, square + R"(facets = { kind = "grid", count = [2, 2], focus_distance_m = 1e-9 })" + "\n",
       R"(s.toml:15:62: error: the focus lies in the grid's middle
   15 | facets = { kind = "grid", count = [2, 2], focus_distance_m = 1e-9 }
      |                                                              ^^^^
  allowed: 0, or 1e-06 at least
)"},
      {of_bowl,
       square + R"(facets = { kind = "grid", count = [2, 2], focus_distance_m = 0, support = "paraboloid" })" + "\n",
       R"(s.toml:15:75: error: a paraboloid needs a focus
   15 | facets = { kind = "grid", count = [2, 2], focus_distance_m = 0, support = "paraboloid" }
      |                                                                           ^^^^^^^^^^^^
  found: focus_distance_m = 0
  allowed: support = "flat", or focus_distance_m more than 0
)"},
      {of_bowl,
       square + R"(facets = { kind = "grid", count = [2, 2], focus_distance_m = 0.001, support = "paraboloid" })" +
           "\n",
       R"(s.toml:15:62: error: the grid is too wide for its focus: outer facets lie edge on
   15 | facets = { kind = "grid", count = [2, 2], focus_distance_m = 0.001, support = "paraboloid" }
      |                                                              ^^^^^
)"},
      {of_bowl, square + R"(facets = { kind = "gird", count = [2, 2], focus_distance_m = 5 })" + "\n",
       R"(s.toml:15:19: error: unknown kind in facets of primary 'bowl': text "gird"
   15 | facets = { kind = "gird", count = [2, 2], focus_distance_m = 5 }
      |                   ^^^^^^
  allowed: grid, frames
  did you mean 'grid'?
)"},
  });
  // Facets are counted copy by copy.
  const std::string field = "array = { kind = \"grid\", count = [40, 30], spacing_m = [50, 50] }\n";
  check({
      {of_bowl, square + "facets = { kind = \"grid\", count = [100, 10], focus_distance_m = 900 }\n" + field,
       R"(s.toml:15:10: error: primary 'bowl' has too many facets
   15 | facets = { kind = "grid", count = [100, 10], focus_distance_m = 900 }
      |          ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  found: 1000 in each of 1200 copies
  allowed: 1000000 in all
)"},
  });
}

TEST_CASE("facets: check says how wide they are together and how far they are canted", "[scene][facets]") {
  const std::string said = describe(scene_of(varied(
      of_bowl, square + "facets = { kind = \"grid\", count = [3, 1], gap_m = [0.1, 0], focus_distance_m = 0 }\n")));
  CHECK(said.find("  3 facets, 3.2 m (x) by 0.5 m (y) in all, not canted\n") != std::string::npos);
  const std::string canted = describe(scene_of(varied(
      of_bowl, square + "facets = { kind = \"grid\", count = [3, 1], gap_m = [0.1, 0], focus_distance_m = 11 }\n")));
  // atan(1.1 / 11) / 2 = 49.83 mrad; the outer panels' outer edges come in by (1 - cos) / 2, 0.6 mm.
  CHECK(canted.find("  3 facets, 3.199 m (x) by 0.5 m (y) in all, canted by 0 to 49.83 mrad against\n") !=
        std::string::npos);
  CHECK(canted.find("  facets between [-1.100, 0.000, 0.000] m and [1.100, 0.000, 0.000] m") != std::string::npos);
}

}  // namespace
}  // namespace catoptra
