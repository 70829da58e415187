#pragma once
// The pose of a steered mount against its limits.
#include "geometry/frame.h"
#include "scene/mount.h"

namespace catoptra {

/// The smallest turn that takes home_axis to the pose's axis, as a vector in the plane across home_axis: its parts
/// about the x and the y that the component has at rest, rad. A full half turn is taken about x.
Vec2 tilt_rad(const SteeredMount& mount);

/// The axis after such a turn.
Vec tilted_axis(const SteeredMount& mount, const Vec2& tilt_rad);

/// How much of its limits a turn uses: 1 on the ellipse whose half axes are the mount's limits about x and y (a circle
/// where they are equal), infinity where an axis that is held still is turned by more than rounding.
double share_of_tilt(const SteeredMount& mount, const Vec2& tilt_rad);

/// How far the component is turned about its own axis, beyond what the tilt alone does to a frame that rests at home.
/// Unlike roll_rad, which counts from the level, it does not leap where the axis passes the vertical.
double twist_rad(const SteeredMount& mount);

/// `frame` turned about its own x, y or z (0, 1, 2), right-handed.
Frame turned_about(const Frame& frame, int axis, double angle_rad);

/// The roll by which facing() would make this frame, rad.
double roll_of(const Frame& frame);

/// Sets the pose's axis and roll to a tilt and a twist.
void turn_to(SteeredMount& mount, const Vec2& tilt_rad, double twist_rad);

}  // namespace catoptra
