#pragma once
// A pose that is good for one sun, as a start for another.
#include <span>
#include <vector>

#include "scene/model.h"
#include "steer/freedom.h"

namespace catoptra {

/// Carries poses about the axis of the scene's first primary that stands still: in a scene that is alike all round that
/// axis, or on both sides of a plane through it, the pose then is as good for the other sun as it was for the one, as
/// far as limits allow and the two stand equally far from the axis. In other scenes it is a start like any other.
class Carry {
 public:
  /// Keeps references to both.
  Carry(const Scene& scene, const Freedom& freedom);

  /// Turned about the axis as the sun is; clamped to the limits.
  std::vector<double> turned(std::span<const double> at, const Vec& from_sun, const Vec& to_sun) const;
  /// Mirrored at the plane through the axis that takes the one sun's side to the other's.
  std::vector<double> mirrored(std::span<const double> at, const Vec& from_sun, const Vec& to_sun) const;

  /// The angle between a sun and the axis, rad.
  double off_axis_rad(const Vec& to_sun) const;

 private:
  /// A turn (or with `mirror` a reflection) about the axis, as a function of directions.
  struct Motion {
    Vec axis, across;  // of a reflection: across its plane
    double cosine = 1, sine = 0;
    bool mirrors = false;
    Vec operator()(const Vec& v) const;
  };
  std::vector<double> moved(std::span<const double> at, const Motion& motion) const;

  const Scene& scene_;
  const Freedom& freedom_;
  Vec origin_m_{0, 0, 0}, axis_{0, 0, 1};
};

}  // namespace catoptra
