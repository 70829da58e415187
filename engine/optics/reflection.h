#pragma once
// The geometry of reflection with errors, in lanes.
#include <algorithm>

#include "numeric/field.h"
#include "numeric/lanes.h"
#include "numeric/turn.h"
#include "optics/interaction.h"

namespace catoptra {

/// Two unit vectors that make a right-handed frame with a unit vector.
template <class Real>
struct Tangents {
  Vec3<Real> first, second;
};

/// Any such frame, without a branch: Duff et al., J. Comput. Graph. Tech. 6 (2017) no. 1.
template <class Real>
Tangents<Real> any_tangents(const Vec3<Real>& n) {
  const Real sign = copy_sign(Real(1), n.z);
  const Real a = Real(-1) / (sign + n.z);
  const Real b = n.x * n.y * a;
  return {{1 + sign * n.x * n.x * a, sign * b, -sign * n.x}, {b, sign + n.y * n.y * a, -n.y}};
}

/// The frame whose first vector is the component's x axis laid onto the surface: slopes along x tilt the normal
/// toward it. For surfaces that can be seen along their axis, so n.z is never 0.
template <class Real>
Tangents<Real> tangents_above_outline(const Vec3<Real>& n) {
  const Real scale = Real(1) / square_root(n.x * n.x + n.z * n.z);
  const Vec3<Real> first{scale * n.z, Real(0), -(scale * n.x)};
  return {first, cross(n, first)};
}

/// On a tube, cone or ball the first vector runs round the axis, the second along it. At a ball's poles, where
/// "round" means nothing, the small number keeps 0/0 away.
template <class Real>
Tangents<Real> tangents_round_axis(const Vec3<Real>& n) {
  const Real scale = Real(1) / square_root(n.x * n.x + n.y * n.y + 1e-300);
  const Vec3<Real> first{-(scale * n.y), scale * n.x, Real(0)};
  return {first, cross(n, first)};
}

/// Those along which a surface's slopes are meant.
template <class Real>
Tangents<Real> tangents_at(bool round, const Vec3<Real>& n) {
  return round ? tangents_round_axis(n) : tangents_above_outline(n);
}

/// The unit direction `d` reflected at the plane across `m`, of any length: d - 2 (d . m) m / (m . m).
template <class Real>
Vec3<Real> reflected(const Vec3<Real>& d, const Vec3<Real>& m) {
  return d - (2 * dot(d, m) / dot(m, m)) * m;
}

/// A normal, not of unit length, tilted by the slopes a and b along the two tangents.
template <class Real>
Vec3<Real> tilted(const Vec3<Real>& n, const Tangents<Real>& t, const Real& a, const Real& b) {
  return n + a * t.first + b * t.second;
}

/// The same by Gaussian slopes of the given rms along each tangent.
template <class Real>
Vec3<Real> tilted(const Vec3<Real>& n, const Tangents<Real>& t, const DrawnPair<Real>& from, const PerAxis& rms) {
  const auto pair = gaussian_pair(from.u, from.v);
  return tilted(n, t, Real(rms.x * pair.first), Real(rms.y * pair.second));
}

/// Direction of light that leaves a matt surface by Lambert's law: the point of a disc, even over its area, lifted to
/// the hemisphere above it (Malley's method; Pharr, Jakob and Humphreys, section 13.6.3).
template <class Real>
Vec3<Real> lambertian(const Vec3<Real>& n, const Real& u, const Real& v) {
  const auto t = any_tangents(n);
  const auto angle = sine_cosine_of_turns(v);
  const Real r = square_root(u);
  return square_root(Real(1 - u)) * n + (r * angle.cosine) * t.first + (r * angle.sine) * t.second;
}

/// The curve's value at an incidence angle.
inline double value_at(const AngleCurve& curve, double angle_rad) {
  const auto& rows = curve.rows;
  const auto above =
      std::upper_bound(rows.begin(), rows.end(), angle_rad, [](double a, const Vec2& row) { return a < row.x; });
  if (above == rows.begin()) return rows.front().y;
  if (above == rows.end()) return rows.back().y;
  const Vec2 low = *(above - 1), high = *above;
  return low.y + (high.y - low.y) * (angle_rad - low.x) / (high.x - low.x);
}

/// The same from the cosine of the angle.
inline Pack value_at_cosine(const AngleCurve& curve, const Pack& cosine) {
  if (curve.is_constant()) return Pack(curve.rows.front().y);
  alignas(64) std::array<double, lanes<Pack>> value;
  xsimd::acos(xsimd::min(cosine, Pack(1.0))).store_aligned(value.data());
  for (double& x : value) x = value_at(curve, x);
  return Pack::load_aligned(value.data());
}

inline double value_at_cosine(const AngleCurve& curve, double cosine) {
  return value_at_cosine(curve, Pack(cosine)).get(0);
}

}  // namespace catoptra
