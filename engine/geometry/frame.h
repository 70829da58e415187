#pragma once
// A right-handed frame: where a component stands and how it is turned.
#include "numeric/lanes.h"

namespace catoptra {

struct Frame {
  Vec origin{0, 0, 0};                        // m
  Vec ex{1, 0, 0}, ey{0, 1, 0}, ez{0, 0, 1};  // unit vectors; ez is the component's axis

  /// Not turned against the world, as what is built into the ground often is.
  bool is_upright() const { return ex == Vec{1, 0, 0} && ey == Vec{0, 1, 0} && ez == Vec{0, 0, 1}; }

  template <class Real>
  Vec3<Real> direction_to_local(const Vec3<Real>& d) const {
    return {ex.x * d.x + ex.y * d.y + ex.z * d.z, ey.x * d.x + ey.y * d.y + ey.z * d.z,
            ez.x * d.x + ez.y * d.y + ez.z * d.z};
  }
  template <class Real>
  Vec3<Real> point_to_local(const Vec3<Real>& p) const {
    return direction_to_local(Vec3<Real>{p.x - origin.x, p.y - origin.y, p.z - origin.z});
  }
  template <class Real>
  Vec3<Real> direction_to_world(const Vec3<Real>& d) const {
    return {ex.x * d.x + ey.x * d.y + ez.x * d.z, ex.y * d.x + ey.y * d.y + ez.y * d.z,
            ex.z * d.x + ey.z * d.y + ez.z * d.z};
  }
  template <class Real>
  Vec3<Real> point_to_world(const Vec3<Real>& p) const {
    const auto d = direction_to_world(p);
    return {d.x + origin.x, d.y + origin.y, d.z + origin.z};
  }
};

/// The frame at `origin_m` whose axis is `axis` (unit length), turned by `roll_rad` about it. Unrolled, x lies
/// horizontal (up x axis; east where the axis is vertical), so for an axis leaning toward the south x points east.
inline Frame facing(const Vec& origin_m, const Vec& axis, double roll_rad = 0) {
  const Vec across{-axis.y, axis.x, 0};  // up x axis
  // Below 1e-12 the horizontal part is rounding, and its direction noise.
  const double horizontal = length(across);
  const Vec x0 = horizontal > 1e-12 ? (1 / horizontal) * across : Vec{1, 0, 0};
  const Vec y0 = cross(axis, x0);
  const double s = std::sin(roll_rad), c = std::cos(roll_rad);
  return {origin_m, c * x0 + s * y0, c * y0 - s * x0, axis};
}

/// A box whose sides are parallel to the axes, m.
struct Box {
  Vec low{infinity, infinity, infinity}, high{-infinity, -infinity, -infinity};

  void include(const Vec& p) {
    low = {std::fmin(low.x, p.x), std::fmin(low.y, p.y), std::fmin(low.z, p.z)};
    high = {std::fmax(high.x, p.x), std::fmax(high.y, p.y), std::fmax(high.z, p.z)};
  }
  /// The box round this one after `frame` has carried it into the world.
  Box to_world(const Frame& frame) const {
    Box out;
    for (int corner = 0; corner < 8; ++corner) {
      out.include(frame.point_to_world(Vec{(corner & 1) != 0 ? high.x : low.x, (corner & 2) != 0 ? high.y : low.y,
                                           (corner & 4) != 0 ? high.z : low.z}));
    }
    return out;
  }
};

}  // namespace catoptra
