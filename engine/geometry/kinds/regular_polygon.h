#pragma once
#include <array>
#include <string_view>

#include "geometry/outline.h"
#include "numeric/field.h"

namespace catoptra {

/// Regular polygon; unrotated, its first corner lies on +x from the middle.
struct RegularPolygonAperture {
  static constexpr std::string_view kind = "regular_polygon";
  int sides = 0;
  double circumdiameter_m = 0;
  double rotation_rad = 0;
  Vec2 center_m;

  static constexpr std::array<Field<RegularPolygonAperture>, 4> fields{{
      {"sides", &RegularPolygonAperture::sides, units::none, range::within(3, 360), Need::required, "number of sides"},
      {"circumdiameter_m", &RegularPolygonAperture::circumdiameter_m, units::metre, range::length_m, Need::required,
       "diameter of the circle through the corners"},
      {"rotation_deg", &RegularPolygonAperture::rotation_rad, units::degree, range::within(-360, 360), Need::optional,
       "turn of the first corner from x toward y"},
      {"center_m", &RegularPolygonAperture::center_m, units::metre, range::position_m, Need::optional,
       "[x, y] of the middle, from the surface's axis"},
  }};

  AnyOutline outline() const { return Polygon(regular_corners_m(sides, circumdiameter_m / 2, center_m, rotation_rad)); }
};

}  // namespace catoptra
