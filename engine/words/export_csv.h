#pragma once
// Flux maps as CSV (RFC 4180, lines ended as on Unix): a line of names that carry the units, then a line a bin.
#include <string>

#include "scene/model.h"
#include "trace/result.h"

namespace catoptra {

/// Each bin's centre on the map's axes (on a tube, cone or ball also as a length round it, where the bin is), its
/// irradiance with standard error, and its area. Cells without a value are empty, as in a bin without area.
std::string flux_csv(const Component& receiver, const FluxMap& map);

/// Distance from the axis of a surface that is unrolled, at a height along it; NaN for others.
double radius_at_m(const AnySurface& surface, double height_m);

}  // namespace catoptra
