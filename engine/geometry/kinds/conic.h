#pragma once
#include <array>
#include <string_view>

#include "geometry/surface.h"
#include "numeric/field.h"

namespace catoptra {

/// Conic of revolution with its vertex at the origin, x^2 + y^2 + (1 + k) z^2 = 2 R z.
struct ConicShape {
  static constexpr std::string_view kind = "conic";
  double radius_of_curvature_m = 0;
  double conic_constant = 0;

  static constexpr std::array<Field<ConicShape>, 2> fields{{
      {"radius_of_curvature_m", &ConicShape::radius_of_curvature_m, units::metre, range::curvature_m, Need::required,
       "R, at the vertex; more than 0: the front is concave, less: convex"},
      {"conic_constant", &ConicShape::conic_constant, units::none, range::any, Need::required,
       "k: 0 sphere, -1 paraboloid, below -1 hyperboloid, above -1 ellipsoid"},
  }};

  AnySurface surface() const { return Conic{1 / radius_of_curvature_m, 1 + conic_constant}; }
};

}  // namespace catoptra
