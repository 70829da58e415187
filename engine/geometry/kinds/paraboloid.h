#pragma once
#include <array>
#include <string_view>

#include "geometry/surface.h"
#include "numeric/field.h"

namespace catoptra {

/// Paraboloid of revolution with its vertex at the origin, x^2 + y^2 = 4 f z.
struct ParaboloidShape {
  static constexpr std::string_view kind = "paraboloid";
  double focal_length_m = 0;

  static constexpr std::array<Field<ParaboloidShape>, 1> fields{{
      {"focal_length_m", &ParaboloidShape::focal_length_m, units::metre, range::curvature_m, Need::required,
       "focal length; more than 0: the front is concave, less: convex"},
  }};

  AnySurface surface() const { return Conic{1 / (2 * focal_length_m), 0}; }
};

}  // namespace catoptra
