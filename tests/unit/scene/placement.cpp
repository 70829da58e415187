// Each mount against frames worked out by hand and the textbooks' tracking formulas.
#include "scene/placement.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <string>

#include "scene/moment.h"
#include "support/broken_promise.h"

namespace catoptra {
namespace {

constexpr double tiny = 1e-14;  // a few roundings of numbers near 1

void check_near(const Vec& got, const Vec& expected, double margin = tiny) {
  INFO("got [" << got.x << ", " << got.y << ", " << got.z << "], expected [" << expected.x << ", " << expected.y << ", "
               << expected.z << "]");
  CHECK(length(got - expected) <= margin);
}

void check_right_handed(const Frame& frame) {
  check_near(cross(frame.ex, frame.ey), frame.ez);
  CHECK(std::fabs(length(frame.ex) - 1) <= tiny);
  CHECK(std::fabs(length(frame.ez) - 1) <= tiny);
  CHECK(std::fabs(dot(frame.ex, frame.ez)) <= tiny);
}

Component component(const std::string& name, AnyMount mount) {
  Component out;
  out.name = name;
  out.surface = Plane{};
  out.outline = Ring{0, 0.5, {0, 0}};
  out.mount = std::move(mount);
  return out;
}

Frame placed_alone(AnyMount mount, const Vec& to_sun) {
  Scene scene;
  scene.components.push_back(component("it", std::move(mount)));
  const Layout layout = place(scene, to_sun);
  REQUIRE(layout.placed.size() == 1);
  check_right_handed(layout.placed[0].frame);
  return layout.placed[0].frame;
}

/// Direction to the sun from latitude, declination and hour angle (afternoon positive), in radians: the spherical
/// triangle of J. A. Duffie and W. A. Beckman, Solar Engineering of Thermal Processes, section 1.6.
Vec sun_at(double latitude, double declination, double hour_angle) {
  const double sp = std::sin(latitude), cp = std::cos(latitude), sd = std::sin(declination), cd = std::cos(declination);
  return {-cd * std::sin(hour_angle), cp * sd - sp * cd * std::cos(hour_angle),
          sp * sd + cp * cd * std::cos(hour_angle)};
}

TEST_CASE("fixed: axis, roll and array", "[scene][placement]") {
  // An axis to the south, level: x = up x axis points east, y = axis x x points up.
  const Frame south = placed_alone(FixedMount{{1, 2, 3}, {0, -1, 0}, 0}, {0, 0, 1});
  check_near(south.origin, {1, 2, 3});
  check_near(south.ex, {1, 0, 0});
  check_near(south.ey, {0, 0, 1});
  // A quarter turn about the axis takes x to where y was.
  check_near(placed_alone(FixedMount{{0, 0, 0}, {0, -1, 0}, pi / 2}, {0, 0, 1}).ex, {0, 0, 1});

  Scene scene;
  scene.components.push_back(component("row", FixedMount{{1, 2, 3}}));
  scene.components[0].array = {{{0, 0, 0}}, {{10, 0, 1}}};
  const Layout layout = place(scene, {0, 0, 1});
  REQUIRE(layout.placed.size() == 2);
  check_near(layout.placed[1].frame.origin, {11, 2, 4});
}

TEST_CASE("steered: stands at home plus offset, along the pose's axis", "[scene][placement]") {
  SteeredMount mount;
  mount.home_m = {0, 0, 9};
  mount.offset_m = {0.5, -1, 0.25};
  mount.axis = {0, 0.6, -0.8};
  const Frame frame = placed_alone(mount, {0, 0, 1});
  check_near(frame.origin, {0.5, -1, 9.25});
  check_near(frame.ez, {0, 0.6, -0.8});

  // Facing down, x points east and y south: right-handed about x, the axis leans north; about y, east.
  mount.axis = {0, 0, -1};
  mount.bias_rad = {0.01, 0};
  check_near(placed_alone(mount, {0, 0, 1}).ez, {0, std::sin(0.01), -std::cos(0.01)});
  check_near(placed_alone(mount, {0, 0, 1}).origin, {0.5, -1, 9.25});
  mount.bias_rad = {0, 0.01};
  check_near(placed_alone(mount, {0, 0, 1}).ez, {std::sin(0.01), 0, -std::cos(0.01)});
}

TEST_CASE("single axis: incidence as in the textbook", "[scene][placement]") {
  // Continuous adjustment about a horizontal axis (Duffie and Beckman, section 1.7; from memory, and each follows from
  // sun_at by Pythagoras): north-south cos^2 = cos^2(zenith) + cos^2(d) sin^2(w); east-west cos^2 = 1 - cos^2(d)
  // sin^2(w); about an axis parallel to the Earth's, cos = cos(d).
  const double latitude = 0.5445, declination = 0.2;
  for (const double hour_angle : {-1.1, -0.3, 0.0, 0.7, 1.2}) {
    const Vec sun = sun_at(latitude, declination, hour_angle);
    const double cd_sw = std::cos(declination) * std::sin(hour_angle);
    SingleAxisMount mount;
    mount.rotation_axis = {0, 1, 0};
    const Frame north_south = placed_alone(mount, sun);
    CHECK(dot(north_south.ez, sun) == Approx(std::sqrt(sun.z * sun.z + cd_sw * cd_sw)).epsilon(1e-14));
    CHECK(north_south.ey == Vec{0, 1, 0});
    mount.rotation_axis = {1, 0, 0};
    CHECK(dot(placed_alone(mount, sun).ez, sun) == Approx(std::sqrt(1 - cd_sw * cd_sw)).epsilon(1e-14));
    mount.rotation_axis = {0, std::cos(latitude), std::sin(latitude)};
    CHECK(dot(placed_alone(mount, sun).ez, sun) == Approx(std::cos(declination)).epsilon(1e-14));
  }
}

TEST_CASE("single axis: offset turns along, bias turns about the axis", "[scene][placement]") {
  // The sun in the east at 45 degrees: z leans east, x = y cross z points east and down.
  const double half = std::sqrt(0.5);
  SingleAxisMount mount;
  mount.pivot_m = {0, 0, 3};
  mount.offset_m = {0, 1, 2};
  const Frame frame = placed_alone(mount, {half, 0, half});
  check_near(frame.ex, {half, 0, -half});
  check_near(frame.origin, {2 * half, 1, 3 + 2 * half});
  mount.bias_rad = 0.1;  // right-handed about north: from up toward east
  const double lean = pi / 4 + 0.1;
  check_near(placed_alone(mount, {half, 0, half}).ez, {std::sin(lean), 0, std::cos(lean)});
}

TEST_CASE("two axes: z points at the sun, but for the bias", "[scene][placement]") {
  const Vec sun = unit(Vec{0.3, -0.5, 0.7});
  TwoAxisMount mount;
  mount.pivot_m = {1, 1, 5};
  mount.offset_m = {0, 0, -2};
  const Frame frame = placed_alone(mount, sun);
  check_near(frame.ez, sun);
  check_near(frame.origin, Vec{1, 1, 5} - 2.0 * sun);
  CHECK(std::fabs(frame.ex.z) <= tiny);  // x lies level

  mount.bias_rad = {0.01, 0};
  check_near(placed_alone(mount, {0, 0, 1}).ez, {0, -std::sin(0.01), std::cos(0.01)});  // about x, east: z tips south
  mount.bias_rad = {0, 0.01};
  check_near(placed_alone(mount, {0, 0, 1}).ez, {std::sin(0.01), 0, std::cos(0.01)});  // about y, north: z tips east
}

TEST_CASE("heliostat: reflects the sun's centre to the aim point", "[scene][placement]") {
  HeliostatMount mount;
  mount.position_m = {40, 90, 4};
  mount.aim_m = {0, 0, 95};
  const Vec sun = unit(Vec{-0.2, -0.6, 0.9});
  const Frame frame = placed_alone(mount, sun);
  const Vec toward = unit(mount.aim_m - mount.position_m);
  check_near(2 * dot(frame.ez, sun) * frame.ez - sun, toward);  // the law of reflection
  CHECK(dot(frame.ez, sun) == Approx(std::sqrt((1 + dot(sun, toward)) / 2)).epsilon(1e-14));
  // By hand: the sun overhead, the aim point level in the south: the normal leans half way.
  mount.position_m = {0, 0, 0};
  mount.aim_m = {0, -50, 0};
  check_near(placed_alone(mount, {0, 0, 1}).ez, {0, -std::sqrt(0.5), std::sqrt(0.5)});
}

TEST_CASE("heliostat: each copy of an array aims by itself, at a component that moves", "[scene][placement]") {
  Scene scene;
  HeliostatMount mount;
  mount.aim = "target";
  scene.components.push_back(component("field", mount));
  scene.components[0].array = {{{0, 60, 0}}, {{30, 80, 2}}};
  TwoAxisMount swinging;
  swinging.pivot_m = {0, 0, 50};
  swinging.offset_m = {0, 0, -5};
  scene.components.push_back(component("target", swinging));
  const Vec sun = unit(Vec{0.1, -0.4, 0.8});
  const Layout layout = place(scene, sun);
  REQUIRE(layout.placed.size() == 3);
  const Vec target = layout.placed[2].frame.origin;
  check_near(target, Vec{0, 0, 50} - 5.0 * sun);
  for (int i = 0; i < 2; ++i) {
    const Frame& frame = layout.placed[static_cast<std::size_t>(i)].frame;
    check_near(2 * dot(frame.ez, sun) * frame.ez - sun, unit(target - frame.origin));
  }
}

TEST_CASE("carried: stands still in the carrier's frame, copy for copy", "[scene][placement]") {
  Scene scene;
  SingleAxisMount mount;
  mount.pivot_m = {0, 0, 3};
  scene.components.push_back(component("trough", mount));
  scene.components[0].array = {{{0, 0, 0}}, {{6, 0, 0}}};
  CarriedMount held;
  held.by = "trough";
  held.position_m = {0, 0, 1.7};
  held.axis = {0, 1, 0};
  scene.components.push_back(component("tube", held));
  CarriedMount shield;
  shield.by = "tube";
  shield.position_m = {0, 0, 2};  // along the tube's axis, which is the trough's y
  scene.components.push_back(component("shield", shield));
  const double half = std::sqrt(0.5);
  const Layout layout = place(scene, {half, 0, half});
  REQUIRE(layout.placed.size() == 6);
  for (const auto& one : layout.placed) check_right_handed(one.frame);
  check_near(layout.placed[2].frame.origin, {1.7 * half, 0, 3 + 1.7 * half});
  check_near(layout.placed[2].frame.ez, {0, 1, 0});
  check_near(layout.placed[3].frame.origin, {6 + 1.7 * half, 0, 3 + 1.7 * half});
  check_near(layout.placed[4].frame.origin, {1.7 * half, 2, 3 + 1.7 * half});
}

TEST_CASE("rows of a hundred thousand that aim at each other or carry each other have their places",
          "[scene][placement]") {
  // From the end of the row to its start, so that the first one placed waits for all the others.
  constexpr int count = 100000;
  Scene scene;
  for (int i = 0; i < count; ++i) {
    HeliostatMount aims;
    aims.position_m = {3.0 * i, 0, 0};
    aims.aim = "h" + std::to_string(i + 1);
    scene.components.push_back(component("h" + std::to_string(i), aims));
  }
  scene.components.push_back(component("h" + std::to_string(count), FixedMount{}));
  for (int i = 0; i < count; ++i) {
    CarriedMount carried;
    carried.by = i + 1 < count ? "c" + std::to_string(i + 1) : "h" + std::to_string(count);
    carried.position_m = {0, 0, 1};
    scene.components.push_back(component("c" + std::to_string(i), carried));
  }
  const Layout layout = place(scene, {0, 0, 1});
  REQUIRE(layout.placed.size() == 2 * count + 1);
  // Sun overhead, the neighbour to the east: the normal halves the right angle between them.
  check_near(layout.placed[0].frame.ez, {std::sqrt(0.5), 0, std::sqrt(0.5)});
  check_near(layout.placed[count + 1].frame.origin, {0, 0, count});
  // The last aims at the first: then none can have its place.
  HeliostatMount last;
  last.position_m = {3.0 * count, 0, 0};
  last.aim = "h0";
  scene.components[count] = component("h" + std::to_string(count), last);
  CHECK_THROWS_WITH(place(scene, {0, 0, 1}),
                    "'h0' waits for its own place: it is carried by, or aims at, something that needs it");
}

TEST_CASE("what a mount can't do is said with its name", "[scene][placement]") {
  const Vec below{0, std::sqrt(0.75), -0.5};
  CHECK_THROWS_WITH(placed_alone(TwoAxisMount{}, below), "'it' can't follow the sun: it stands below the horizon");
  CHECK_NOTHROW(placed_alone(FixedMount{}, below));
  SingleAxisMount upright;
  upright.rotation_axis = {0, 0, 1};
  CHECK_THROWS_WITH(placed_alone(upright, {0, 0, 1}),
                    "'it' can't follow the sun: it stands in line with the axis of rotation");
  HeliostatMount heliostat;
  heliostat.aim_m = {0, -10, 0};
  heliostat.position_m = {0, 0, 0};
  const Vec opposite = unit(Vec{0, 10, 1e-9});
  CHECK_THROWS_WITH(placed_alone(heliostat, opposite),
                    "'it' would have to look both ways: the aim point lies straight away from the sun");
  CarriedMount circle;
  circle.by = "it";
  CHECK_THROWS_WITH(placed_alone(circle, {0, 0, 1}),
                    "'it' waits for its own place: it is carried by, or aims at, something that needs it");
}

TEST_CASE("places for a sun of no unit length, and such a moment, break a promise", "[scene][expects]") {
  Scene scene;
  CHECK(test::is_refused([&] { (void)place(scene, {0, 0, 2}); }));
  CHECK(test::is_refused([&] { set_moment(scene, {.to_sun = {0, 0.1, 1}, .dni_W_m2 = 900}); }));
  CHECK(test::is_refused([&] { set_moment(scene, {.to_sun = {0, 0, 1}, .dni_W_m2 = -1}); }));
  CHECK_NOTHROW(set_moment(scene, {.to_sun = {0, 0, 1}, .dni_W_m2 = 900}));
}

}  // namespace
}  // namespace catoptra
