#pragma once
// How light enters a surface: a point on it, the normal there, and how much surface the point stands for.
// Derivations: docs/theory/geometry.md, "Where light enters".
#include <type_traits>

#include "geometry/outline.h"
#include "geometry/surface.h"

namespace catoptra {

namespace detail {

/// From here on (a share of the radius of curvature, 44 degrees up the circle) the projected sampling's weight, which
/// grows as the tangent, costs more than it saves; at the equator its variance has no bound.
inline constexpr double deep = 0.7;

inline bool is_centred(const Vec2& c) {
  return c.x == 0 && c.y == 0;
}
inline const Ring& ring_of(const Ring& ring) {
  return ring;
}
inline const Ring& ring_of(const Sector& sector) {
  return sector.ring();
}

/// Spherical zone above a centred ring or sector, even over its area: even in height, as Archimedes found.
template <class RoundOutline, class Real>
EntryPoint<Real> spherical_entry(const Conic& sphere, const RoundOutline& outline, const Real& u, const Real& v) {
  const double c = sphere.curvature_per_m;
  // 1 - cos of the angle from the vertex, which is height / R. The equator's rounding must not make a root negative.
  const auto height = [c](double r) { return c * c * r * r / (1 + std::sqrt(std::fmax(0, 1 - c * c * r * r))); };
  const Ring& ring = ring_of(outline);
  const double low = height(ring.inner_radius_m), high = height(ring.outer_radius_m);
  const Real h = low + u * (high - low);
  const Real sine = square_root(h * (2 - h));
  const auto angle = sine_cosine_of_turns(outline.turns(v));
  const double radius = 1 / std::fabs(c), span_rad = 2 * pi * (outline.turns(1.0) - outline.turns(0.0));
  const double toward = c > 0 ? -1 : 1;  // the front is concave where R > 0
  return {{radius * sine * angle.cosine, radius * sine * angle.sine, h / c},
          {toward * sine * angle.cosine, toward * sine * angle.sine, 1 - h},
          Real(span_rad * radius * radius * (high - low))};
}

/// Circular trough above a rectangle, even in w = tan(angle from the vertex / 2): arc R d(angle) = 2 R dw / (1 + w^2),
/// so the weight stays within a factor of two and no sine is needed.
template <class Real>
EntryPoint<Real> circular_entry(const Trough& trough, const Rectangle& rectangle, const Real& u, const Real& v) {
  const double c = trough.curvature_per_m;
  const auto half_tangent = [c](double x) { return c * x / (1 + std::sqrt(std::fmax(0, 1 - c * c * x * x))); };
  const double from = half_tangent(rectangle.center_m.x - rectangle.half_width_m);
  const double to = half_tangent(rectangle.center_m.x + rectangle.half_width_m);
  const Real w = from + u * (to - from);
  const Real scale = 1 / (1 + w * w);
  return {{(2 / c) * w * scale, rectangle.center_m.y + (2 * v - 1) * rectangle.half_length_m, (2 / c) * w * w * scale},
          {-2 * w * scale, Real(0), (1 - w * w) * scale},
          (4 * rectangle.half_length_m * (to - from) / c) * scale};
}

}  // namespace detail

/// The entry point that belongs to (u, v) in the unit square. DNI x measure x cos(incidence), averaged over the square,
/// is the power that falls on the front. Measure is 0 where there is no surface.
///
/// Surfaces above an outline are sampled evenly over the outline, measure = area / n.z, which makes the power constant
/// for any mirror that faces the sun; spheres above a round outline and circular troughs above a rectangle that reach
/// beyond 0.7 of their radius are sampled evenly over (nearly) their own area. Deep ellipsoids are not: keep them short
/// of their equator.
template <Surface S, class Outline, class Real>
EntryPoint<Real> entry_point(const S& surface, const Outline& outline, const Real& u, const Real& v) {
  if constexpr (SampledUnevenly<S>) {
    return surface.entry(u, v);
  } else if constexpr (Closed<S>) {
    const Vec3<Real> p = surface.point(u, v);
    return {p, surface.normal(p), select(outline.contains(p.x, p.y), Real(surface.area_m2()), Real(0))};
  } else if constexpr (std::is_same_v<Outline, Whole>) {
    return {broadcast<Real>({0, 0, 0}), broadcast<Real>({0, 0, 1}), Real(0)};  // unbounded: readers refuse it
  } else {
    if constexpr (std::is_same_v<S, Conic> && (std::is_same_v<Outline, Ring> || std::is_same_v<Outline, Sector>)) {
      const Ring& ring = detail::ring_of(outline);
      if (surface.q == 1 && detail::is_centred(ring.center_m) &&
          ring.outer_radius_m * std::fabs(surface.curvature_per_m) > detail::deep) {
        return detail::spherical_entry(surface, outline, u, v);
      }
    }
    if constexpr (std::is_same_v<S, Trough> && std::is_same_v<Outline, Rectangle>) {
      const double reach = std::fabs(outline.center_m.x) + outline.half_width_m;
      if (surface.q == 1 && reach * std::fabs(surface.curvature_per_m) > detail::deep) {
        return detail::circular_entry(surface, outline, u, v);
      }
    }
    const Point2<Real> at = outline.sample(u, v);
    const Vec3<Real> p{at.x, at.y, surface.sag(at.x, at.y)};
    const Vec3<Real> n = surface.normal(p);
    return {p, n, outline.area_m2() / n.z};
  }
}

}  // namespace catoptra
