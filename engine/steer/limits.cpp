#include "steer/limits.h"

#include <algorithm>
#include <cmath>

#include "scene/steered_pose.h"

namespace catoptra {
namespace {

constexpr double at_limit = 0.999;      // a climb ends within its tolerance of a limit
constexpr double bright_enough = 0.01;  // of the day's best

}  // namespace

std::vector<LimitUse> limits_used(const Component& component, const ScheduledPose& pose) {
  const auto& before = std::get<SteeredMount>(component.mount);
  SteeredMount mount = before;
  mount.offset_m = pose.offset_m;
  mount.axis = pose.axis;
  mount.roll_rad = pose.roll_rad;
  std::vector<LimitUse> out;
  const auto add = [&](std::string key, double limit, double unit, std::string unit_word, double share) {
    if (limit > 0) out.push_back({std::move(key), limit / unit, std::move(unit_word), share});
  };
  const auto travel = [&](std::string key, double limit_m, double offset_m) {
    add(std::move(key), limit_m, 1, "m", std::fabs(offset_m) / limit_m);
  };
  travel("travel_m east", mount.travel_m.x, mount.offset_m.x);
  travel("travel_m north", mount.travel_m.y, mount.offset_m.y);
  travel("travel_m up", mount.travel_m.z, mount.offset_m.z);
  add("tilt_deg", std::fmax(mount.tilt_rad.x, mount.tilt_rad.y), units::degree_rad, "deg",
      share_of_tilt(mount, tilt_rad(mount)));
  add("roll_limit_deg", mount.roll_limit_rad, units::degree_rad, "deg",
      std::fabs(std::remainder(twist_rad(mount) - twist_rad(before), 2 * pi)) / mount.roll_limit_rad);
  return out;
}

std::vector<LimitReached> limits_reached(const Scene& scene, const Schedule& schedule) {
  std::vector<LimitReached> out;
  if (!schedule.searched) return out;
  double best = 0;
  const auto brings = [](const ScheduleRow& row) { return row.result.optical_efficiency.value; };
  for (const ScheduleRow& row : schedule.rows) best = std::fmax(best, brings(row));
  std::size_t k = 0;
  for (const Component& component : scene.components) {
    if (!std::holds_alternative<SteeredMount>(component.mount)) continue;
    std::vector<LimitReached> own;
    std::size_t bright = 0;
    for (const ScheduleRow& row : schedule.rows) {
      if (!(brings(row) > bright_enough * best)) continue;
      ++bright;
      const std::vector<LimitUse> used = limits_used(component, row.poses[k]);
      for (std::size_t i = 0; i < used.size(); ++i) {
        if (own.size() == i) own.push_back({component.name, used[i], 0, 0});
        own[i].limit.share = std::fmax(own[i].limit.share, used[i].share);
        own[i].suns += used[i].share >= at_limit ? 1 : 0;
      }
    }
    for (LimitReached& one : own) {
      one.of = bright;
      if (one.suns > 0) out.push_back(std::move(one));
    }
    ++k;
  }
  return out;
}

}  // namespace catoptra
