#pragma once
// The surfaces that rays meet, each in its own frame, metres; what each of them has: geometry/surface_concept.h.
#include <variant>

#include "geometry/asphere.h"
#include "geometry/corrector.h"
#include "geometry/cpc.h"
#include "geometry/quadrics.h"
#include "geometry/surface_concept.h"
#include "geometry/torus.h"

namespace catoptra {

/// The closed set that the tracer visits, once a bundle.
using AnySurface = std::variant<Plane, Conic, Trough, Cylinder, Cone, Ball, Corrector, TroughCorrector, Asphere, Cpc,
                                CpcTrough, Torus>;

static_assert(sizeof(AllSurfaces<AnySurface>) > 0, "every alternative has all verbs of a Surface");

/// Where the unbounded surface is met along p + t d: any order, any sign, NaN or infinite where there is none. `own`: p
/// lies on the surface, whose root at 0 is then taken out exactly rather than by a tolerance, which would also hide
/// true near hits.
template <class S, class Real>
Roots<Real> roots_along(const S& surface, const Vec3<Real>& p, const Vec3<Real>& d, const Mask<Real>& own) {
  if constexpr (MetAtRoots<S>) {
    return surface.roots(p, d, own);
  } else {
    const Real t0 = nearest_to_origin(p, d, own);
    auto q = surface.quadratic(point_along(p, d, t0), d);
    q.C = select(own, Real(0), q.C);
    const auto t = roots_of(q);
    return {t0 + t.first, t0 + t.second};
  }
}

/// The first hit of a surface that finds its own that lies inside the outline: from one outside, the next is asked for.
template <FindsOwnHits S, class Outline, class Real>
Real first_hit_inside_m(const S& surface, const Outline& outline, const Vec3<Real>& p, const Vec3<Real>& d,
                        const Mask<Real>& own) {
  const Real first = surface.first_hit_m(p, d, own);
  if constexpr (std::is_same_v<Outline, Whole>) {
    return first;
  } else {
    constexpr int most_hits = 32;  // more than a line has with any surface here
    Real best(infinity), t = first;
    Mask<Real> open = t < infinity;
    for (int hit = 0; hit < most_hits && any(open); ++hit) {
      const Vec3<Real> at = point_along(p, d, t);
      const Mask<Real> inside = open & outline.contains(at.x, at.y);
      best = select(inside, t, best);
      open = open & !inside;
      if (!any(open)) break;
      t = t + surface.first_hit_m(at, d, Mask<Real>(true));
      open = open & (t < infinity);
    }
    return best;
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
template <Surface S, class Outline, class Real>
Real hit_distance_m(const S& surface, const Outline& outline, const Vec3<Real>& p, const Vec3<Real>& d,
                    const Mask<Real>& own) {
  if constexpr (FindsOwnHits<S>) {
    return first_hit_inside_m(surface, outline, p, d, own);
  } else {
    const auto roots = roots_along(surface, p, d, own);
    Real best(infinity);
    // A hit at a root that the outline cuts away must not hide the other. A miss is NaN, which passes no comparison.
    const auto try_root = [&](const Real& t) {
      const Vec3<Real> at = point_along(p, d, t);
      best = select((t > 0) & (t < best) & surface.on_sheet(at) & outline.contains(at.x, at.y), t, best);
    };
    try_root(roots.first);
    if constexpr (!std::is_same_v<S, Plane>) try_root(roots.second);
    return best;
  }
}

/// The same for rays that all start on a quadric: with C = 0 the root at 0 is known, and the other follows without a
/// square root.
template <MetByQuadratic S, class Outline, class Real>
Real hit_again_distance_m(const S& surface, const Outline& outline, const Vec3<Real>& p, const Vec3<Real>& d) {
  const auto q = surface.quadratic(p, d);
  const Real t = -2 * q.B / q.A;
  const Vec3<Real> at = point_along(p, d, t);
  return select((t > 0) & (t < infinity) & surface.on_sheet(at) & outline.contains(at.x, at.y), t, Real(infinity));
}

}  // namespace catoptra
