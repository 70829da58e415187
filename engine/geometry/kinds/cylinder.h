#pragma once
#include <array>
#include <string_view>

#include "geometry/kinds/front.h"
#include "geometry/surface.h"
#include "numeric/field.h"

namespace catoptra {

/// Open circular tube about z, centred on the origin.
struct CylinderShape {
  static constexpr std::string_view kind = "cylinder";
  double radius_m = 0, length_m = 0;
  Choice front;

  static constexpr std::array<Field<CylinderShape>, 3> fields{{
      {"radius_m", &CylinderShape::radius_m, units::metre, range::length_m, Need::required, "radius of the wall"},
      {"length_m", &CylinderShape::length_m, units::metre, range::length_m, Need::required, "length along z"},
      {"front", &CylinderShape::front, units::none, range::any, Need::optional,
       "the side that the finish covers; back covers the other", front_words},
  }};

  AnySurface surface() const { return Cylinder{radius_m, length_m / 2, side_of(front)}; }
};

}  // namespace catoptra
