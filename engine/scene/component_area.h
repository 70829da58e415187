#pragma once
// Areas that reports and totals quote.
#include "scene/model.h"

namespace catoptra {

/// Aperture area of one copy, m^2: its outline's area, projected along its own axis; of a closed surface, its wall.
double aperture_area_m2(const Component& component);
/// Area of one copy's front, m^2, curvature included (for curved surfaces above an outline by a midpoint rule, good to
/// about 1e-4).
double front_area_m2(const Component& component);

}  // namespace catoptra
