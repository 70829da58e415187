#pragma once
#include <array>
#include <string_view>

#include "geometry/surface.h"
#include "numeric/field.h"

namespace catoptra {

/// Conic of revolution with polynomial terms, out to its own rim.
struct AsphereShape {
  static constexpr std::string_view kind = "asphere";
  double radius_of_curvature_m = 0, conic_constant = 0, diameter_m = 0;
  double a4_per_m3 = 0, a6_per_m5 = 0, a8_per_m7 = 0, a10_per_m9 = 0;

  static constexpr std::array<Field<AsphereShape>, 7> fields{{
      {"radius_of_curvature_m", &AsphereShape::radius_of_curvature_m, units::metre, range::curvature_m, Need::required,
       "R, at the vertex; more than 0: the front is concave, less: convex"},
      {"conic_constant", &AsphereShape::conic_constant, units::none, range::any, Need::optional,
       "k: 0 sphere, -1 paraboloid, below -1 hyperboloid, above -1 ellipsoid"},
      {"diameter_m", &AsphereShape::diameter_m, units::metre, range::length_m, Need::required,
       "diameter of the rim; the terms need not make sense beyond it"},
      {"a4_per_m3", &AsphereShape::a4_per_m3, units::per_m3, range::any, Need::optional,
       "term a4 r^4 of the height above the vertex, r the distance from the axis"},
      {"a6_per_m5", &AsphereShape::a6_per_m5, units::per_m5, range::any, Need::optional, "term a6 r^6"},
      {"a8_per_m7", &AsphereShape::a8_per_m7, units::per_m7, range::any, Need::optional, "term a8 r^8"},
      {"a10_per_m9", &AsphereShape::a10_per_m9, units::per_m9, range::any, Need::optional, "term a10 r^10"},
  }};

  /// Beyond the equator of its conic, where it would be none, the plain conic stands in: the reader refuses it then, as
  /// its outline reaches too far.
  AnySurface surface() const {
    const double c = 1 / radius_of_curvature_m, q = 1 + conic_constant, rim_m = diameter_m / 2;
    if (!(q * c * c * rim_m * rim_m < 1)) return Conic{c, q};
    return Asphere(c, q, {a4_per_m3, a6_per_m5, a8_per_m7, a10_per_m9}, rim_m);
  }
  AnyOutline own_outline() const { return Ring{0, diameter_m / 2, {0, 0}}; }
};

}  // namespace catoptra
