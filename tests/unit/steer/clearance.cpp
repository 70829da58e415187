#include "steer/clearance.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "scenes.h"

using namespace catoptra;

namespace {

Scene with_pilot(const std::string& mount) {
  std::string text = test::small_bowl;
  const std::string from =
      "mount = { kind = \"steered\", home_m = [0, 0, 3.4], travel_m = [2.5, 2.5, 0], tilt_deg = 40 }";
  text.replace(text.find(from), from.size(), mount);
  return test::read_or_throw(text);
}

double shortfall_m(const Scene& scene) {
  return Clearance(scene).shortfall_m(place(scene, scene.sun.toward));
}

TEST_CASE("clearance: a flat disc in a bowl touches with its rim where the bowl is as high", "[steer]") {
  // A disc of 1.25 m radius, level, on the axis of a sphere of 10 m radius: its rim meets the bowl at the height
  // 10 - sqrt(100 - 1.25^2).
  const double touch_m = 10 - std::sqrt(100 - 1.25 * 1.25);
  Scene scene = test::read_or_throw(test::small_bowl);
  scene.components[1].surface = Plane{};
  scene.components[2].mount = FixedMount{{0, 0, 8}};
  auto& mount = std::get<SteeredMount>(scene.components[1].mount);
  mount.home_m = {0, 0, touch_m + 1e-4};
  CHECK(shortfall_m(scene) == 0);
  mount.home_m.z = touch_m - 1e-4;
  CHECK(shortfall_m(scene) == Approx(1e-4).margin(2e-6));
  mount.clearance_m = 0.2;
  CHECK(shortfall_m(scene) == Approx(0.2 + 1e-4).margin(2e-6));
  mount.home_m.z = touch_m + 0.21;
  CHECK(shortfall_m(scene) == 0);
  mount.home_m.z = -0.5;  // in the ground
  CHECK(shortfall_m(scene) > 0.5);
}

TEST_CASE("clearance: from the box of a receiver, also where it stands between the points of the mirror", "[steer]") {
  Scene scene = with_pilot("mount = { kind = \"steered\", home_m = [0, 0, 3], home_axis = [0, 0, -1] }");
  scene.components[1].surface = Plane{};
  // The tube reaches from 0.85 to 2.35 m.
  auto& mount = std::get<SteeredMount>(scene.components[1].mount);
  CHECK(shortfall_m(scene) == 0);
  mount.clearance_m = 0.7;
  CHECK(shortfall_m(scene) == Approx(0.05).margin(1e-6));
  mount.clearance_m = 0;
  mount.home_m.z = 2.3;
  CHECK(shortfall_m(scene) > 0);
  mount.home_m = {0.3, 0, 2.3};
  CHECK(shortfall_m(scene) > 0);
  // A thin receiver through the mirror, nowhere near a point of its 9 rings.
  scene.components[2].surface = Cylinder{0.002, 0.5};
  scene.components[2].mount = FixedMount{{0.4, 0.21, 2.3}};
  mount.home_m = {0, 0, 2.3};
  CHECK(shortfall_m(scene) > 0);
  scene.components[2].mount = FixedMount{{0.4, 0.21, 1.7}};
  CHECK(shortfall_m(scene) == 0);
}

TEST_CASE("clearance: what it carries is part of it", "[steer]") {
  Scene scene = with_pilot("mount = { kind = \"steered\", home_m = [0, 0, 3] }");
  CarriedMount carried;
  carried.by = "pilot";
  scene.components[2].mount = carried;  // right through it
  CHECK(shortfall_m(scene) == 0);
}

TEST_CASE("clearance: obstacles may stand in the way, receivers may not", "[steer]") {
  Scene scene = with_pilot("mount = { kind = \"steered\", home_m = [0, 0, 3] }");
  scene.components[1].surface = Plane{};
  scene.components[2].mount = FixedMount{{0, 0, 3}};  // right through the mirror
  CHECK(shortfall_m(scene) > 0.5);
  scene.components[2].role = Role::obstacle;
  CHECK(shortfall_m(scene) == 0);
}

TEST_CASE("clearance: a body may stand behind another mirror, but not on both its sides", "[steer]") {
  Scene scene = test::read_or_throw(test::small_bowl + R"([[secondary]]
name = "other"
shape = { kind = "plane" }
aperture = { kind = "circle", diameter_m = 4 }
finish = "silver"
mount = { kind = "fixed", position_m = [0, 0, 6] }
)");
  scene.components[1].surface = Plane{};
  scene.components[3].mount = FixedMount{{0, 0, 9}};  // the tube, which stands behind the mirrors, out of the way
  auto& mount = std::get<SteeredMount>(scene.components[1].mount);
  mount.clearance_m = 0.3;
  for (const double side : {-1.0, 1.0}) {  // behind, before
    mount.home_m = {0, 0, 6 + 0.31 * side};
    CHECK(shortfall_m(scene) == 0);
    mount.home_m = {0, 0, 6 + 0.2 * side};
    CHECK(shortfall_m(scene) == Approx(0.1).margin(1e-9));
  }
  // Upright, half of it on either side: its points reach 1.25 m to both.
  mount.home_m = {0, 0, 6};
  mount.axis = {1, 0, 0};
  CHECK(shortfall_m(scene) == Approx(1.55).margin(1e-6));
}

TEST_CASE("clearance: inside a receiver's box, the way out to its nearest side counts too", "[steer]") {
  Scene scene = with_pilot("mount = { kind = \"steered\", home_m = [0.0875, 0.0875, 1.6] }");
  scene.components[1].surface = Plane{};
  scene.components[1].outline = Ring{0, 0.05, {}};  // a small disc, between the points of the box's grid of 0.175 m
  // The box reaches 0.35 m to all sides. Of the disc's points the deepest lies toward the tube's axis, on the rim's
  // diagonal: 0.05 / sqrt 2 nearer to the middle than the disc's centre in both x and y.
  CHECK(shortfall_m(scene) == Approx(0.35 - (0.0875 - 0.05 / std::sqrt(2.0))).margin(1e-3));
  std::get<SteeredMount>(scene.components[1].mount).home_m.x = 0.2875;
  CHECK(shortfall_m(scene) == Approx(0.35 - 0.2375).margin(1e-3));
}

}  // namespace
