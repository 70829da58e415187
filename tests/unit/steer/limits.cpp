// Which limits a schedule's poses stand at.
#include "steer/limits.h"

#include <catch2/catch.hpp>

#include "scene/steered_pose.h"
#include "scenes.h"

using namespace catoptra;

namespace {

TEST_CASE("limits: each that is reached, with its suns; dark suns do not count", "[steer]") {
  std::string text = test::small_bowl;
  const std::string tilt = "tilt_deg = 40";
  text.replace(text.find(tilt), tilt.size(), "tilt_deg = [40, 20], roll_limit_deg = 90");
  const Scene scene = test::read_or_throw(text);
  Schedule schedule;
  schedule.components = {"pilot"};
  const auto add = [&](double efficiency, const Vec& offset_m, const Vec2& tilt_deg, double twist_deg) {
    ScheduleRow row;
    row.result.optical_efficiency = {efficiency, 0};
    Scene posed = scene;
    auto& mount = std::get<SteeredMount>(posed.components[1].mount);
    mount.offset_m = offset_m;
    turn_to(mount, {tilt_deg.x * units::degree_rad, tilt_deg.y * units::degree_rad}, twist_deg * units::degree_rad);
    row.poses = poses_of(posed);
    schedule.rows.push_back(std::move(row));
  };
  add(0.5, {1, -2.5, 0}, {0, 20}, 10);
  add(0.4, {0, 2.4999, 0}, {24, 16}, -20);  // on the ellipse: 0.6 and 0.8 of the limits
  add(0.3, {0, 1, 0}, {20, 0}, 30);         // half of it
  add(0.004, {2.5, 0, 0}, {0, 0}, 90);
  const auto found = limits_reached(scene, schedule);
  REQUIRE(found.size() == 2);
  CHECK(found[0].component == "pilot");
  CHECK(found[0].limit.key == "travel_m north");
  CHECK(found[0].limit.limit == 2.5);
  CHECK(found[0].suns == 2);
  CHECK(found[0].of == 3);
  CHECK(found[1].limit.key == "tilt_deg");
  CHECK(found[1].limit.limit == Approx(40));
  CHECK(found[1].suns == 2);
  schedule.rows.back().result.optical_efficiency.value = 0.1;
  CHECK(limits_reached(scene, schedule).size() == 4);  // the east and the roll too
  schedule.searched = false;
  CHECK(limits_reached(scene, schedule).empty());
}

}  // namespace
