#pragma once
#include <array>
#include <string_view>

#include "geometry/kinds/front.h"
#include "geometry/surface.h"
#include "numeric/field.h"

namespace catoptra {

/// Whole sphere about the origin.
struct BallShape {
  static constexpr std::string_view kind = "ball";
  double radius_m = 0;
  Choice front;

  static constexpr std::array<Field<BallShape>, 2> fields{{
      {"radius_m", &BallShape::radius_m, units::metre, range::length_m, Need::required, "radius"},
      {"front", &BallShape::front, units::none, range::any, Need::optional,
       "the side that the finish covers; back covers the other", front_words},
  }};

  AnySurface surface() const { return Ball{radius_m, side_of(front)}; }
};

}  // namespace catoptra
