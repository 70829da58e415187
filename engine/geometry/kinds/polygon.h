#pragma once
#include <array>
#include <string_view>
#include <vector>

#include "geometry/outline.h"
#include "numeric/field.h"

namespace catoptra {

/// Polygon given by its corners in order, either way round; its edges must not cross.
struct PolygonAperture {
  static constexpr std::string_view kind = "polygon";
  std::vector<Vec2> points_m;

  static constexpr std::array<Field<PolygonAperture>, 1> fields{{
      {"points_m", &PolygonAperture::points_m, units::metre, range::position_m, Need::required,
       "corners [x, y] in order, three or more; no two edges may cross"},
  }};

  AnyOutline outline() const { return Polygon(points_m); }
  /// As Polygon's constructor: fewer than three corners, edges that touch or cross, no area.
  void check() const { (void)Polygon(points_m); }
};

}  // namespace catoptra
