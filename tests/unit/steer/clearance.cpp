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

}  // namespace
