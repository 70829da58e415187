#pragma once
#include <array>
#include <string_view>

#include "geometry/surface.h"
#include "numeric/field.h"

namespace catoptra {

/// Parabola carried along y, x^2 = 4 f z.
struct ParabolicTroughShape {
  static constexpr std::string_view kind = "parabolic_trough";
  double focal_length_m = 0;

  static constexpr std::array<Field<ParabolicTroughShape>, 1> fields{{
      {"focal_length_m", &ParabolicTroughShape::focal_length_m, units::metre, range::curvature_m, Need::required,
       "focal length of the section; more than 0: the front is concave, less: convex"},
  }};

  AnySurface surface() const { return Trough{1 / (2 * focal_length_m), 0}; }
};

}  // namespace catoptra
