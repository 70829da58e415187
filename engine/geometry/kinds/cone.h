#pragma once
#include <array>
#include <stdexcept>
#include <string_view>

#include "geometry/kinds/front.h"
#include "geometry/surface.h"
#include "numeric/field.h"

namespace catoptra {

/// Open frustum of a cone about z, centred half way up.
struct ConeShape {
  static constexpr std::string_view kind = "cone";
  double bottom_radius_m = 0, top_radius_m = 0, height_m = 0;
  Choice front;

  static constexpr std::array<Field<ConeShape>, 4> fields{{
      {"bottom_radius_m", &ConeShape::bottom_radius_m, units::metre, range::within(0, 1e6), Need::required,
       "radius at z = -height_m / 2"},
      {"top_radius_m", &ConeShape::top_radius_m, units::metre, range::within(0, 1e6), Need::required,
       "radius at z = +height_m / 2; one of the two radii must be more than 0"},
      {"height_m", &ConeShape::height_m, units::metre, range::length_m, Need::required, "height along z"},
      {"front", &ConeShape::front, units::none, range::any, Need::optional,
       "the side that the finish covers; back covers the other", front_words},
  }};

  AnySurface surface() const {
    return Cone{(bottom_radius_m + top_radius_m) / 2, (top_radius_m - bottom_radius_m) / height_m, height_m / 2,
                side_of(front)};
  }
  void check() const {
    if (bottom_radius_m == 0 && top_radius_m == 0) {
      throw std::invalid_argument("one of bottom_radius_m and top_radius_m must be more than 0");
    }
  }
};

}  // namespace catoptra
