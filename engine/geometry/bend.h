#pragma once
// How the section of a surface turns, which says how dense a mesh must be.

namespace catoptra {

/// Turns as the conic c (x^2 + q z^2) = 2 z does. Straight where the curvature is 0.
struct Bend {
  double curvature_per_m = 0, q = 1;

  /// Angle between the section's normal and the axis at x, rad; signed as c x.
  double tilt_rad(double x_m) const;
};

/// Of a surface above an outline: its sections along x and y. Where it is `round`, every section through its axis is
/// the one along x.
struct Bends {
  Bend along_x, along_y;
  bool round = false;
};

}  // namespace catoptra
