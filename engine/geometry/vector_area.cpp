#include "geometry/vector_area.h"

#include <cmath>

#include "geometry/bounded_integral.h"
#include "geometry/entrance.h"
#include "geometry/rim.h"
#include "numeric/expects.h"

namespace catoptra {

namespace {

/// The closed integral of z along the rim: over dx and over dy.
template <AboveOutline S, class Stretch>
Vec2 height_round(const S& surface, const Stretch& stretch, double begin, double end, double tolerance_m2) {
  const auto z = [&](double t) {
    const Vec2 p = at(stretch, t);
    return surface.sag(p.x, p.y);
  };
  return {
      stretch.sense * bounded_integral([&](double t) { return z(t) * advance(stretch, t); }, begin, end, tolerance_m2),
      stretch.sense * bounded_integral([&](double t) { return z(t) * climb(stretch, t); }, begin, end, tolerance_m2)};
}

}  // namespace

Vec vector_area_m2(const AnySurface& surface, const AnyOutline& outline) {
  return std::visit(
      [&]<Surface S>(const S& s) -> Vec {
        if constexpr (Closed<S>) {
          return s.vector_area_m2();
        } else {
          Rim rim;
          std::visit(rim, outline);
          const double flat_m2 = area_m2(outline), tolerance_m2 = 1e-13 * flat_m2;
          Vec sum{0, 0, flat_m2};
          if constexpr (!std::is_same_v<S, Plane>) {
            // n dA = (-dz/dx, -dz/dy, 1) dx dy, and Green's theorem.
            const auto add = [&](const Vec2& z) { sum = {sum.x - z.y, sum.y + z.x, sum.z}; };
            for (const RimEdge& edge : rim.edges) add(height_round(s, edge, 0, 1, tolerance_m2));
            for (const RimArc& arc : rim.arcs) add(height_round(s, arc, arc.from_rad, arc.to_rad, tolerance_m2));
          }
          // What rounding leaves of a symmetric rim.
          if (std::fabs(sum.x) < 1e-12 * flat_m2) sum.x = 0;
          if (std::fabs(sum.y) < 1e-12 * flat_m2) sum.y = 0;
          return sum;
        }
      },
      surface);
}

std::optional<double> lit_area_m2(const AnySurface& surface, const Vec& v) {
  return std::visit(
      [&]<Surface S>(const S& s) -> std::optional<double> {
        if constexpr (Closed<S>) return s.lit_area_m2(v);
        return std::nullopt;
      },
      surface);
}

Facing::Facing(const AnySurface& surface, const AnyOutline& outline) : surface_(surface) {
  const auto entrance = entrance_of(surface);
  rim_m2_ = entrance ? Vec{0, 0, catoptra::area_m2(entrance->outline)} : vector_area_m2(surface, outline);
}

double Facing::area_m2(const Vec& s) const {
  CATOPTRA_EXPECTS(is_unit(s));
  if (const auto lit_m2 = lit_area_m2(surface_, s)) return *lit_m2;
  return std::fmax(0, dot(rim_m2_, s));
}

}  // namespace catoptra
