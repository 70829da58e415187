#pragma once
#include <array>
#include <string_view>

#include "geometry/outline.h"
#include "geometry/surface.h"
#include "numeric/field.h"

namespace catoptra {

/// Flat disc: a plane that brings its own outline.
struct DiscShape {
  static constexpr std::string_view kind = "disc";
  double diameter_m = 0;

  static constexpr std::array<Field<DiscShape>, 1> fields{{
      {"diameter_m", &DiscShape::diameter_m, units::metre, range::length_m, Need::required, "diameter"},
  }};

  AnySurface surface() const { return Plane{}; }
  AnyOutline own_outline() const { return Ring{0, diameter_m / 2, {0, 0}}; }
};

}  // namespace catoptra
