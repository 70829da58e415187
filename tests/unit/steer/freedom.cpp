#include "steer/freedom.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "scene/steered_pose.h"
#include "scenes.h"
#include "steer/evaluator.h"
#include "support/broken_promise.h"

using namespace catoptra;

namespace {

constexpr double degree = units::degree_rad;

const SteeredMount& mount_of(const Scene& scene, std::size_t i) {
  return std::get<SteeredMount>(scene.components[i].mount);
}

TEST_CASE("freedom: only what has a limit is free", "[steer]") {
  const Freedom fold(test::paraboloid_and_fold());
  REQUIRE(fold.size() == 3);
  CHECK(fold.name(0) == "fold: up");
  CHECK(fold.name(1) == "fold: tilt about x");
  CHECK(fold.name(2) == "fold: tilt about y");
  Scene scene = test::paraboloid_and_fold();
  auto& mount = std::get<SteeredMount>(scene.components[1].mount);
  mount.travel_m = {1, 0, 0};
  mount.tilt_rad = {0, 0.3};
  mount.roll_limit_rad = 0.5;
  const Freedom some(scene);
  REQUIRE(some.size() == 3);
  CHECK(some.name(0) == "fold: east");
  CHECK(some.name(1) == "fold: tilt about y");
  CHECK(some.name(2) == "fold: roll");
  mount = SteeredMount{};
  CHECK(Freedom(scene).size() == 0);
  CHECK(Freedom(scene).steered() == std::vector<std::size_t>{1});
}

TEST_CASE("freedom: coordinates are shares of the limits, there and back", "[steer]") {
  Scene scene = test::paraboloid_and_fold();
  auto& mount = std::get<SteeredMount>(scene.components[1].mount);
  mount.travel_m = {1, 2, 0.5};
  mount.tilt_rad = {20 * degree, 10 * degree};
  mount.roll_limit_rad = 0.5;
  turn_to(mount, {0.1, -0.05}, 0.3);  // the twist from which roll_limit counts
  const Freedom freedom(scene);
  REQUIRE(freedom.size() == 6);
  const std::vector<double> wanted{0.5, -0.25, 1, 0.4, -0.3, 0.8};
  freedom.apply(wanted, scene);
  CHECK(length(mount_of(scene, 1).offset_m - Vec{0.5, -0.5, 0.5}) < 1e-15);
  const Vec2 tilt = tilt_rad(mount_of(scene, 1));
  CHECK(tilt.x == Approx(8 * degree));
  CHECK(tilt.y == Approx(-3 * degree));
  CHECK(twist_rad(mount_of(scene, 1)) == Approx(0.7));
  const auto back = freedom.coordinates_of(scene);
  for (std::size_t i = 0; i < 6; ++i) CHECK(back[i] == Approx(wanted[i]).margin(1e-12));

  freedom.apply(std::vector<double>{0, 0, 0, 1, 1, 0}, scene);  // a corner beyond the ellipse
  CHECK(share_of_tilt(mount_of(scene, 1), tilt_rad(mount_of(scene, 1))) == Approx(1).epsilon(1e-7));
  CHECK(tilt_rad(mount_of(scene, 1)).x == Approx(2 * tilt_rad(mount_of(scene, 1)).y).epsilon(1e-6));
}

TEST_CASE("freedom: travel is the way of the vertex and of the rim", "[steer]") {
  const Scene here = test::paraboloid_and_fold();
  const Freedom freedom(here);
  Scene there = here;
  auto& mount = std::get<SteeredMount>(there.components[1].mount);
  mount.offset_m = {0, 0, 0.3};
  CHECK(travel_between_m(here, there, freedom) == Approx(0.3));
  turn_to(mount, {0.1, 0}, 0);
  // The disc's box reaches 0.8 sqrt(2) m to its corners.
  CHECK(travel_between_m(here, there, freedom) == Approx(0.3 + 0.1 * 0.8 * std::sqrt(2.0)).epsilon(1e-6));
}

TEST_CASE("an evaluator that is given too few coordinates is made a broken promise", "[steer][expects]") {
  const Scene scene = test::paraboloid_and_fold();
  const Freedom freedom(scene);
  const Clearance clearance(scene);
  PreparedPool pool = search_pool(scene, Objective::absorbed);
  Evaluator evaluator(scene, freedom, clearance, pool, {.samples = 1 << 8});
  CHECK(test::is_refused([&] { (void)evaluator(std::vector<double>(freedom.size() - 1)); }));
}

}  // namespace
