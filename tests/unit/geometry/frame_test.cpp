// Frames: right-handed, orthonormal, and facing where the names say.
#include <catch2/catch.hpp>

#include "unit/geometry/rays.h"

using namespace catoptra;

namespace {

double worst_of(const Frame& f) {
  const double lengths = std::fmax(std::fabs(dot(f.ex, f.ex) - 1),
                                   std::fmax(std::fabs(dot(f.ey, f.ey) - 1), std::fabs(dot(f.ez, f.ez) - 1)));
  const double right_angles =
      std::fmax(std::fabs(dot(f.ex, f.ey)), std::fmax(std::fabs(dot(f.ey, f.ez)), std::fabs(dot(f.ez, f.ex))));
  return std::fmax(std::fmax(lengths, right_angles), length(cross(f.ex, f.ey) - f.ez));
}

}  // namespace

TEST_CASE("frames are right-handed and orthonormal for every axis", "[geometry]") {
  Dice dice(1);
  double worst = 0, level = 0;
  for (int i = 0; i < 2000; ++i) {
    // Every other axis is nearly vertical, up or down, where the horizontal part fades into rounding.
    const double lean = dice.power_of_ten(-17, -3), turn = dice(0, 2 * pi), up = dice() < 0.5 ? -1 : 1;
    const Vec axis = i % 2 == 0 ? dice.direction() : unit(Vec{lean * std::cos(turn), lean * std::sin(turn), up});
    worst = std::fmax(worst, worst_of(facing({1, 2, 3}, axis, dice(-7, 7))));
    level = std::fmax(level, std::fabs(facing({0, 0, 0}, axis).ex.z));
  }
  CHECK(worst < 2e-12);  // below a lean of 1e-12 the axis counts as vertical
  CHECK(level == 0);
}

TEST_CASE("frames turn as they say", "[geometry]") {
  const double s = std::sin(0.4), c = std::cos(0.4);
  const Frame south = facing({0, 0, 0}, {0, -s, c});
  CHECK(south.ex == Vec{1, 0, 0});  // east
  CHECK(length(south.ey - Vec{0, c, s}) < 1e-16);
  CHECK(facing({0, 0, 0}, {0, 0, 1}).ex == Vec{1, 0, 0});
  CHECK(facing({0, 0, 0}, {0, 0, -1}).ey == Vec{0, -1, 0});
  const Frame rolled = facing({0, 0, 0}, {0, 0, 1}, pi / 2);  // x goes to y
  CHECK(length(rolled.ex - Vec{0, 1, 0}) < 1e-16);
}

TEMPLATE_TEST_CASE("into the frame and back", "[geometry]", double, Pack) {
  using Real = TestType;
  const Frame f = facing({5, -3, 2}, unit(Vec{0.3, 0.5, -0.8}), 1.1);
  const Vec p{1.5, 2.5, -7}, at_origin{5, -3, 2};
  const auto back = f.point_to_world(f.point_to_local(broadcast<Real>(p))) - broadcast<Real>(p);
  CHECK(Pack(length(back)).get(0) < 4e-15);
  CHECK(Pack(length(f.point_to_local(broadcast<Real>(at_origin)))).get(0) == 0);
  CHECK(Pack(length(f.direction_to_world(Vec3<Real>{Real(0), Real(0), Real(1)}) - broadcast<Real>(f.ez))).get(0) == 0);
}

TEST_CASE("a turned box holds what the box held", "[geometry]") {
  const Box box{{-1, -2, 0}, {1, 2, 0.5}};
  const Frame f = facing({5, -3, 2}, unit(Vec{0.3, 0.5, -0.8}), 1.1);
  const Box world = box.to_world(f);
  Dice dice(2);
  Box seen;
  for (int i = 0; i < 20'000; ++i) {
    seen.include(f.point_to_world(Vec{dice(-1, 1), dice(-2, 2), dice(0, 0.5)}));
  }
  for (const double room : {seen.low.x - world.low.x, seen.low.y - world.low.y, seen.low.z - world.low.z,
                            world.high.x - seen.high.x, world.high.y - seen.high.y, world.high.z - seen.high.z}) {
    CHECK(room >= 0);
    CHECK(room < 0.5);
  }
}
