#pragma once
#include <array>
#include <string_view>

#include "geometry/surface.h"
#include "numeric/field.h"

namespace catoptra {

/// Spherical mirror through its vertex at the origin.
struct SphereShape {
  static constexpr std::string_view kind = "sphere";
  double radius_m = 0;

  static constexpr std::array<Field<SphereShape>, 1> fields{{
      {"radius_m", &SphereShape::radius_m, units::metre, range::curvature_m, Need::required,
       "radius of curvature; more than 0: the front is concave, less: convex"},
  }};

  AnySurface surface() const { return Conic{1 / radius_m, 1}; }
};

}  // namespace catoptra
