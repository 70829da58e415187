#pragma once
// Places along a ray p + t d, in doubles or in lanes.
#include "numeric/lanes.h"

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

}  // namespace catoptra
