#pragma once
#include <array>
#include <string_view>

#include "geometry/surface.h"
#include "numeric/field.h"

namespace catoptra {

/// Arc of a circle carried along y.
struct CircularTroughShape {
  static constexpr std::string_view kind = "circular_trough";
  double radius_m = 0;

  static constexpr std::array<Field<CircularTroughShape>, 1> fields{{
      {"radius_m", &CircularTroughShape::radius_m, units::metre, range::curvature_m, Need::required,
       "radius of the section; more than 0: the front is concave, less: convex"},
  }};

  AnySurface surface() const { return Trough{1 / radius_m, 1}; }
};

}  // namespace catoptra
