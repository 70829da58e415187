#pragma once
// Sunshapes: how bright the sun is over the angle from its centre. Each is a plain struct with its scene keys (`kind`,
// `fields`) and, unless the sampler has a closed form for it, two verbs:
//   radiance(angle_rad)  relative radiance, 0 beyond the extent; any scale
//   breaks_rad()         angles where the radiance jumps or bends, increasing; the last one is the extent
#include <variant>

#include "sun/shapes/buie.h"
#include "sun/shapes/disc.h"
#include "sun/shapes/gaussian.h"
#include "sun/shapes/limb_darkened.h"
#include "sun/shapes/point.h"
#include "sun/shapes/table.h"

namespace catoptra {

using AnySunshape = std::variant<DiscSun, PointSun, LimbDarkenedSun, GaussianSun, BuieSun, TableSun>;

}  // namespace catoptra
