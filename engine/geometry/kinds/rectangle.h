#pragma once
#include <array>
#include <string_view>

#include "geometry/outline.h"
#include "numeric/field.h"

namespace catoptra {

/// Rectangle with its sides along x and y.
struct RectangleAperture {
  static constexpr std::string_view kind = "rectangle";
  double width_m = 0, length_m = 0;
  Vec2 center_m;

  static constexpr std::array<Field<RectangleAperture>, 3> fields{{
      {"width_m", &RectangleAperture::width_m, units::metre, range::length_m, Need::required, "size along x"},
      {"length_m", &RectangleAperture::length_m, units::metre, range::length_m, Need::required, "size along y"},
      {"center_m", &RectangleAperture::center_m, units::metre, range::position_m, Need::optional,
       "[x, y] of the middle, from the surface's axis"},
  }};

  AnyOutline outline() const { return Rectangle{width_m / 2, length_m / 2, center_m}; }
};

}  // namespace catoptra
