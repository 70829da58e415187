#pragma once
// Mirrors with two radii of curvature. No quadric, so the torus finds its rays' hits itself. Theory:
// docs/theory/geometry.md, "Tori".
#include <optional>
#include <string>

#include "geometry/bend.h"
#include "geometry/frame.h"
#include "geometry/outline.h"
#include "numeric/lanes.h"

namespace catoptra {

/// A circle of the radius Ry in the yz plane, through the origin, turned about the line parallel to y at the height Rx.
/// Of the surface only the part near the vertex at the origin counts, up to where it turns back. Curvatures 1/Rx and
/// 1/Ry; more than 0: the front (+z) is concave that way. With 1/Rx = 0 a trough along x.
///
/// With h(y) the circle's height, (Rx - z)^2 + x^2 = (Rx - h)^2. Written so that nothing cancels where the radii are
/// long or nearly alike: 2 z - cx (x^2 + y^2 + z^2) - r(y) = 0, r = 2 (cy - cx) y^2 / (1 + sqrt(1 - cy^2 y^2)).
struct Torus {
  static constexpr bool above_outline = true;
  double curvature_x_per_m = 0, curvature_y_per_m = 0;

  /// The circle's height at y, and its slope.
  template <class Real>
  struct Circle {
    Real height, slope;
  };
  template <class Real>
  Circle<Real> circle(const Real& y) const {
    const double c = curvature_y_per_m;
    const Real root = square_root(1 - c * c * y * y);
    return {c * y * y / (1 + root), c * y / root};
  }
  template <class Real>
  Real sag(const Real& x, const Real& y) const {
    const double c = curvature_x_per_m;
    const Real h = circle(y).height, k = 1 - c * h;
    return (h * (2 - c * h) + c * x * x) / (1 + square_root(k * k - c * c * x * x));
  }
  template <class Real>
  Vec3<Real> normal(const Vec3<Real>& p) const {
    const double c = curvature_x_per_m;
    const auto [height, slope] = circle(p.y);
    return unit(Vec3<Real>{-c * p.x, -(1 - c * height) * slope, 1 - c * p.z});
  }
  /// As hit_distance_m(). Error: as there, k = 32.
  template <class Real>
  Real first_hit_m(const Vec3<Real>& p, const Vec3<Real>& d, const Mask<Real>& own) const;
  Box box(const AnyOutline& outline) const;
  double steepest_sine(const AnyOutline& outline) const;
  double extent_m(const AnyOutline& outline) const;
  double least_scale(const AnyOutline& outline) const;
  double mean_curvature_per_m() const { return (curvature_x_per_m + curvature_y_per_m) / 2; }
  static bool is_sampled_to_equator() { return false; }
  Bends bends() const { return {{curvature_x_per_m, 1}, {curvature_y_per_m, 1}, false}; }
  std::optional<Torus> scaled(double factor) const {
    return Torus{curvature_x_per_m / factor, curvature_y_per_m / factor};
  }
  std::string words(const AnyOutline&) const;
};

}  // namespace catoptra
