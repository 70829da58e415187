#pragma once
#include <array>
#include <string_view>

#include "geometry/surface.h"
#include "numeric/field.h"

namespace catoptra {

/// Mirror with two radii of curvature, through its vertex at the origin.
struct TorusShape {
  static constexpr std::string_view kind = "torus";
  double radius_x_m = 0, radius_y_m = 0;

  static constexpr std::array<Field<TorusShape>, 2> fields{{
      {"radius_x_m", &TorusShape::radius_x_m, units::metre, range::curvature_m, Need::required,
       "radius of curvature in the xz plane; more than 0: the front is concave that way, less: convex"},
      {"radius_y_m", &TorusShape::radius_y_m, units::metre, range::curvature_m, Need::required,
       "radius of curvature in the yz plane: of the circle that is turned about the line parallel to y at the height "
       "radius_x_m"},
  }};

  AnySurface surface() const { return Torus{1 / radius_x_m, 1 / radius_y_m}; }
};

}  // namespace catoptra
