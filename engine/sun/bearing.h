#pragma once
// Directions as azimuth and elevation: east is x, north is y, up is z.
#include "numeric/vec.h"

namespace catoptra {

/// Unit vector; the azimuth counts from north by east, the elevation from the horizon.
Vec direction_of(double azimuth_rad, double elevation_rad);

/// The same back, of a vector of any length but 0: from 0 to 360, and from -90 to 90.
double azimuth_deg(const Vec& direction);
double elevation_deg(const Vec& direction);

}  // namespace catoptra
