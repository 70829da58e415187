#pragma once
// Areas of surfaces: of a front, of the part of it inside a rectangle, and of what it shows to light along its axis.
#include <optional>
#include <vector>

#include "geometry/area_within.h"
#include "geometry/rim.h"

namespace catoptra {

/// Areas of the parts of a surface above an outline that rectangles cut out of it, bins of a flux map for one.
/// Derivation: docs/theory/geometry.md, "Areas".
class AreaAbove {
 public:
  AreaAbove(const AnySurface& surface, const AnyOutline& outline);

  /// Area of the part whose projection along the axis lies inside the outline and the rectangle, m^2. Exact to rounding
  /// where the surface is flat, within 1e-9 of the smaller of rectangle and outline where it is curved. 0 for closed
  /// surfaces, and for a sliver of less than 1e-12 of the rectangle. Work: one integral of bounded length for each
  /// stretch into which the rectangle's lines cut the rim.
  double within_m2(const Box2& rectangle) const;

 private:
  const AnySurface surface_;
  const AnyOutline outline_;
  std::vector<RimEdge> edges_;
  std::vector<RimArc> arcs_;
  std::optional<AsphereWithin> asphere_within_;
};

/// Area of the front, curvature included, m^2; 0 for a surface above no outline.
double front_area_m2(const AnySurface& surface, const AnyOutline& outline);

/// Area of the aperture: the outline projected along the surface's own axis, m^2; of a cone that opens or narrows
/// upward with its front in sight, the ring between its rims; of a compound parabola its entrance. 0 where the front
/// has no outline that it shows to +z: a tube, a ball, a cone that looks down.
double aperture_area_m2(const AnySurface& surface, const AnyOutline& outline);

}  // namespace catoptra
