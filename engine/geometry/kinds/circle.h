#pragma once
#include <array>
#include <string_view>

#include "geometry/outline.h"
#include "numeric/field.h"

namespace catoptra {

/// Circle in the plane across the surface's axis.
struct CircleAperture {
  static constexpr std::string_view kind = "circle";
  double diameter_m = 0;
  Vec2 center_m;

  static constexpr std::array<Field<CircleAperture>, 2> fields{{
      {"diameter_m", &CircleAperture::diameter_m, units::metre, range::length_m, Need::required, "diameter"},
      {"center_m", &CircleAperture::center_m, units::metre, range::position_m, Need::optional,
       "[x, y] of the middle, from the surface's axis"},
  }};

  AnyOutline outline() const { return Ring{0, diameter_m / 2, center_m}; }
};

}  // namespace catoptra
