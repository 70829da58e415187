#pragma once
// Where a schedule's poses stand at the limits of their mounts.
#include <cstddef>
#include <string>
#include <vector>

#include "steer/schedule.h"

namespace catoptra {

/// A limit of a component on a steered mount, and how much of it a pose uses: 1 at the limit.
struct LimitUse {
  std::string key;   // of the scene: "travel_m east", "tilt_deg", "roll_limit_deg"
  double limit = 0;  // in the unit of the key; of a tilt the larger of its two
  std::string unit;  // "m", "deg"
  double share = 0;
};

/// Of the limits that leave room (more than 0). `pose` is one of the component's; `component` as the search was given
/// it, since a roll counts from there.
std::vector<LimitUse> limits_used(const Component& component, const ScheduledPose& pose);

/// A limit that poses of a schedule stand at.
struct LimitReached {
  std::string component;
  LimitUse limit;        // share: the largest
  std::size_t suns = 0;  // at which a pose does, of those that bring at least a hundredth of the day's best
  std::size_t of = 0;    // those
};

/// In the order of the components; none of a schedule that was not searched.
std::vector<LimitReached> limits_reached(const Scene& scene, const Schedule& schedule);

}  // namespace catoptra
