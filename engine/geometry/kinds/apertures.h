#pragma once
// The apertures that a scene may name: outlines in the plane across the surface's axis. To add one: its header, and
// its name in this list.
#include <variant>

#include "geometry/kinds/annulus.h"
#include "geometry/kinds/circle.h"
#include "geometry/kinds/polygon.h"
#include "geometry/kinds/rectangle.h"
#include "geometry/kinds/regular_polygon.h"
#include "geometry/kinds/sector.h"

namespace catoptra {

using AnyAperture = std::variant<CircleAperture, AnnulusAperture, RectangleAperture, RegularPolygonAperture,
                                 PolygonAperture, SectorAperture>;

}  // namespace catoptra
