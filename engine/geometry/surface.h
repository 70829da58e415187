#pragma once
// The surfaces that rays meet, each in its own frame, metres: quadrics solved exactly.
//
// A surface offers four verbs to the tracer, templated on the number (a double in a test, lanes in a bundle):
//   quadratic(o, d)   the terms whose roots are the distances along the ray o + t d at which the unbounded quadric is
//                     met; a surface that is none offers roots(p, d, own) as roots_along() does
//   on_sheet(p)       whether a point of the quadric belongs to the part that is the surface
//   normal(p)         unit, toward the front
//   box(outline)      bounds of the part inside an outline, a hair (1e-9) too large so that rounding stays inside
// Surfaces above an outline (Plane, Conic, Trough) also offer sag(x, y); closed ones (Cylinder, Cone, Ball) point(u,
// v), even over their area.
//
// A surface that needs more than two roots (Corrector, CpcWall, Asphere) offers first_hit_m(p, d, own) instead of the
// first two verbs.
#include <variant>

#include "geometry/asphere.h"
#include "geometry/corrector.h"
#include "geometry/cpc.h"
#include "geometry/frame.h"
#include "geometry/outline.h"
#include "numeric/lanes.h"
#include "numeric/turn.h"

namespace catoptra {

/// The terms of A t^2 + 2 B t + C = 0, whose roots are the distances along o + t d at which a quadric is met.
template <class Real>
struct Quadratic {
  Real A, B, C;
};

template <class Real>
struct Roots {
  Real first, second;
};

/// Roots by the form in which nothing cancels (the two same-signed terms are added, the other root follows from the
/// product C / A); A = 0 needs no branch. Press et al., Numerical Recipes, section 5.6.
template <class Real>
Roots<Real> roots_of(const Quadratic<Real>& q) {
  const Real s = -(q.B + copy_sign(square_root(q.B * q.B - q.A * q.C), q.B));
  return {s / q.A, q.C / s};
}

/// p + t d. Rounded once, so that a far p costs the point no digits.
template <class Real>
Vec3<Real> point_along(const Vec3<Real>& p, const Vec3<Real>& d, const Real& t) {
  return {multiply_add(t, d.x, p.x), multiply_add(t, d.y, p.y), multiply_add(t, d.z, p.z)};
}

/// Where to begin solving: the ray's point nearest the surface's origin, so that a far starting point costs no digits;
/// a ray that starts on the surface begins there, where the constant term is zero exactly.
template <class Real>
Real nearest_to_origin(const Vec3<Real>& p, const Vec3<Real>& d, const Mask<Real>& own) {
  return select(own, Real(0), -dot(p, d));
}

struct Plane {
  static constexpr bool above_outline = true;

  template <class Real>
  Roots<Real> roots(const Vec3<Real>& p, const Vec3<Real>& d, const Mask<Real>& own) const {
    return {select(own, Real(infinity), -p.z / d.z), Real(infinity)};
  }
  template <class Real>
  Mask<Real> on_sheet(const Vec3<Real>& p) const {
    return p.z == p.z;
  }
  template <class Real>
  Vec3<Real> normal(const Vec3<Real>&) const {
    return {Real(0), Real(0), Real(1)};
  }
  template <class Real>
  Real sag(const Real&, const Real&) const {
    return Real(0);
  }
  Box box(const AnyOutline& outline) const;
};

/// Conic of revolution about z with its vertex at the origin, c (x^2 + y^2 + q z^2) = 2 z, q = 1 + k, c = 1/R;
/// k: conic constant, 0 sphere, -1 paraboloid, < -1 hyperboloid, > -1 ellipsoid. R > 0: the front (+z) is concave.
/// The ray's quadratic: Spencer and Murty, J. Opt. Soc. Am. 52 (1962) 672.
struct Conic {
  static constexpr bool above_outline = true;
  double curvature_per_m = 0;
  double q = 1;

  template <class Real>
  Quadratic<Real> quadratic(const Vec3<Real>& o, const Vec3<Real>& d) const {
    const double c = curvature_per_m;
    return {c * (d.x * d.x + d.y * d.y + q * d.z * d.z), c * (o.x * d.x + o.y * d.y + q * o.z * d.z) - d.z,
            c * (o.x * o.x + o.y * o.y + q * o.z * o.z) - 2 * o.z};
  }
  template <class Real>
  Mask<Real> on_sheet(const Vec3<Real>& p) const {  // the sheet through the vertex, up to its equator
    return 1 - q * curvature_per_m * p.z > 0;
  }
  template <class Real>
  Vec3<Real> normal(const Vec3<Real>& p) const {
    const double c = curvature_per_m;
    return unit(Vec3<Real>{-c * p.x, -c * p.y, 1 - q * c * p.z});
  }
  template <class Real>
  Real sag(const Real& x, const Real& y) const {
    const double c = curvature_per_m;
    const Real r2 = x * x + y * y;
    return c * r2 / (1 + square_root(1 - q * c * c * r2));
  }
  Box box(const AnyOutline& outline) const;
};

/// The Conic's section carried along y: c (x^2 + q z^2) = 2 z.
struct Trough {
  static constexpr bool above_outline = true;
  double curvature_per_m = 0;
  double q = 0;

  template <class Real>
  Quadratic<Real> quadratic(const Vec3<Real>& o, const Vec3<Real>& d) const {
    const double c = curvature_per_m;
    return {c * (d.x * d.x + q * d.z * d.z), c * (o.x * d.x + q * o.z * d.z) - d.z,
            c * (o.x * o.x + q * o.z * o.z) - 2 * o.z};
  }
  template <class Real>
  Mask<Real> on_sheet(const Vec3<Real>& p) const {
    return 1 - q * curvature_per_m * p.z > 0;
  }
  template <class Real>
  Vec3<Real> normal(const Vec3<Real>& p) const {
    const double c = curvature_per_m;
    return unit(Vec3<Real>{-c * p.x, Real(0), 1 - q * c * p.z});
  }
  template <class Real>
  Real sag(const Real& x, const Real&) const {
    const double c = curvature_per_m;
    return c * x * x / (1 + square_root(1 - q * c * c * x * x));
  }
  Box box(const AnyOutline& outline) const;
};

/// Circular tube about z, centred on the origin.
struct Cylinder {
  static constexpr bool above_outline = false;
  double radius_m = 1, half_length_m = 1;
  double side = 1;  // 1: the front is the outside, -1: the inside

  template <class Real>
  Quadratic<Real> quadratic(const Vec3<Real>& o, const Vec3<Real>& d) const {
    return {d.x * d.x + d.y * d.y, o.x * d.x + o.y * d.y, o.x * o.x + o.y * o.y - radius_m * radius_m};
  }
  template <class Real>
  Mask<Real> on_sheet(const Vec3<Real>& p) const {
    return absolute(p.z) <= half_length_m;
  }
  template <class Real>
  Vec3<Real> normal(const Vec3<Real>& p) const {
    return (Real(side) / square_root(p.x * p.x + p.y * p.y)) * Vec3<Real>{p.x, p.y, Real(0)};
  }
  template <class Real>
  Vec3<Real> point(const Real& u, const Real& v) const {
    const auto angle = sine_cosine_of_turns(u);
    return {radius_m * angle.cosine, radius_m * angle.sine, (2 * v - 1) * half_length_m};
  }
  double area_m2() const { return 4 * pi * radius_m * half_length_m; }
  Box box(const AnyOutline&) const;
};

/// Frustum of a circular cone about z, centred half way up: radius r(z) = middle + growth z.
struct Cone {
  static constexpr bool above_outline = false;
  double middle_radius_m = 1, growth = 0, half_height_m = 1;
  double side = 1;  // 1: the front is the outside, -1: the inside

  template <class Real>
  Quadratic<Real> quadratic(const Vec3<Real>& o, const Vec3<Real>& d) const {
    const Real r = middle_radius_m + growth * o.z;
    const Real dr = growth * d.z;
    return {d.x * d.x + d.y * d.y - dr * dr, o.x * d.x + o.y * d.y - r * dr, o.x * o.x + o.y * o.y - r * r};
  }
  template <class Real>
  Mask<Real> on_sheet(const Vec3<Real>& p) const {  // r >= 0 leaves out the twin beyond the apex
    return (absolute(p.z) <= half_height_m) & (middle_radius_m + growth * p.z >= 0);
  }
  template <class Real>
  Vec3<Real> normal(const Vec3<Real>& p) const {
    const Real r = square_root(p.x * p.x + p.y * p.y);
    const Real scale = side / (r * std::sqrt(1 + growth * growth));
    // The apex has no normal; any ray may meet it, so it takes its neighbours' mean.
    return select(r > 0, Vec3<Real>{scale * p.x, scale * p.y, -growth * (scale * r)},
                  broadcast<Real>({0, 0, -side * std::copysign(1.0, growth)}));
  }
  /// The area grows as r^2 up the cone, so r^2 is even between the two rims; the height follows from
  /// (r - bottom)(r + bottom) = 4 middle growth half_height v without dividing by a growth that may be 0.
  template <class Real>
  Vec3<Real> point(const Real& u, const Real& v) const {
    const double bottom = middle_radius_m - growth * half_height_m, top = middle_radius_m + growth * half_height_m;
    const Real r = square_root(bottom * bottom + v * (top * top - bottom * bottom));
    const Real sum = larger(r + bottom, Real(std::numeric_limits<double>::min()));  // 0 at an apex below
    const auto angle = sine_cosine_of_turns(u);
    return {r * angle.cosine, r * angle.sine, 4 * middle_radius_m * half_height_m * v / sum - half_height_m};
  }
  double area_m2() const { return 4 * pi * middle_radius_m * half_height_m * std::sqrt(1 + growth * growth); }
  Box box(const AnyOutline&) const;
};

/// Whole sphere about the origin.
struct Ball {
  static constexpr bool above_outline = false;
  double radius_m = 1;
  double side = 1;  // 1: the front is the outside, -1: the inside

  template <class Real>
  Quadratic<Real> quadratic(const Vec3<Real>& o, const Vec3<Real>& d) const {
    return {dot(d, d), dot(o, d), dot(o, o) - radius_m * radius_m};
  }
  template <class Real>
  Mask<Real> on_sheet(const Vec3<Real>& p) const {
    return p.z == p.z;
  }
  template <class Real>
  Vec3<Real> normal(const Vec3<Real>& p) const {
    return Real(side) * unit(p);
  }
  template <class Real>
  Vec3<Real> point(const Real& u, const Real& v) const {
    // Even in z = 1 - 2 v (Archimedes); sqrt(1 - z^2) written so that nothing cancels at the poles.
    const Real r = 2 * radius_m * square_root(v * (1 - v));
    const auto angle = sine_cosine_of_turns(u);
    return {r * angle.cosine, r * angle.sine, radius_m * (1 - 2 * v)};
  }
  double area_m2() const { return 4 * pi * radius_m * radius_m; }
  Box box(const AnyOutline&) const;
};

/// The closed set that the tracer visits, once a bundle.
using AnySurface =
    std::variant<Plane, Conic, Trough, Cylinder, Cone, Ball, Corrector, TroughCorrector, Asphere, Cpc, CpcTrough>;

/// Walls that light enters by an opening: on a primary samples start there, since light that falls straight through to
/// the exit belongs to its aperture as well. docs/theory/cpc.md.
template <class Surface>
inline constexpr bool has_entrance = requires(const Surface& surface) {
  surface.entrance();
};

template <class Surface>
inline constexpr bool is_quadric = requires(const Surface& surface, const Vec& v) {
  surface.quadratic(v, v);
};

template <class Surface>
inline constexpr bool finds_own_hits = requires(const Surface& surface, const Vec& v) {
  surface.first_hit_m(v, v, true);
};

/// Where the unbounded surface is met along p + t d: any order, any sign, NaN or infinite where there is none. `own`: p
/// lies on the surface, whose root at 0 is then taken out exactly rather than by a tolerance, which would also hide
/// true near hits.
template <class Surface, class Real>
Roots<Real> roots_along(const Surface& surface, const Vec3<Real>& p, const Vec3<Real>& d, const Mask<Real>& own) {
  if constexpr (!is_quadric<Surface>) {
    return surface.roots(p, d, own);
  } else {
    const Real t0 = nearest_to_origin(p, d, own);
    auto q = surface.quadratic(point_along(p, d, t0), d);
    q.C = select(own, Real(0), q.C);
    const auto t = roots_of(q);
    return {t0 + t.first, t0 + t.second};
  }
}

/// Distance to the first point ahead of p on the part of `surface` inside `outline`; infinity where there is none, and
/// for NaN or infinite p or d. `d` is of unit length.
///
/// Error: |t - exact| <= k u (L / cos i + t), u = 2^-53, i the incidence angle, L the largest distance of the surface's
/// part from its origin; k = 8 for compact shapes, k = 128 where L is up to 200 times the smallest radius (thin tubes,
/// near the apex of a cone). For compact shapes that is within 1e-12 L from 100 L away up to 89 degrees of incidence;
/// slender ones keep 1e-12 L in all tests too. A ray that passes a silhouette or an outline's edge within that distance
/// may fall on either side of it.
template <class Surface, class Outline, class Real>
Real hit_distance_m(const Surface& surface, const Outline& outline, const Vec3<Real>& p, const Vec3<Real>& d,
                    const Mask<Real>& own) {
  if constexpr (finds_own_hits<Surface>) {
    return surface.first_hit_m(p, d, own);
  } else {
    const auto roots = roots_along(surface, p, d, own);
    Real best(infinity);
    // A hit at a root that the outline cuts away must not hide the other. A miss is NaN, which passes no comparison.
    const auto try_root = [&](const Real& t) {
      const Vec3<Real> at = point_along(p, d, t);
      best = select((t > 0) & (t < best) & surface.on_sheet(at) & outline.contains(at.x, at.y), t, best);
    };
    try_root(roots.first);
    if constexpr (!std::is_same_v<Surface, Plane>) try_root(roots.second);
    return best;
  }
}

/// The same for rays that all start on a quadric: with C = 0 the root at 0 is known, and the other follows without a
/// square root.
template <class Surface, class Outline, class Real>
Real hit_again_distance_m(const Surface& surface, const Outline& outline, const Vec3<Real>& p, const Vec3<Real>& d) {
  const auto q = surface.quadratic(p, d);
  const Real t = -2 * q.B / q.A;
  const Vec3<Real> at = point_along(p, d, t);
  return select((t > 0) & (t < infinity) & surface.on_sheet(at) & outline.contains(at.x, at.y), t, Real(infinity));
}

}  // namespace catoptra
