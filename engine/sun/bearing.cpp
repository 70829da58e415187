#include "sun/bearing.h"

#include <cmath>

#include "numeric/field.h"

namespace catoptra {

Vec direction_of(double azimuth_rad, double elevation_rad) {
  return {std::cos(elevation_rad) * std::sin(azimuth_rad), std::cos(elevation_rad) * std::cos(azimuth_rad),
          std::sin(elevation_rad)};
}

double azimuth_deg(const Vec& direction) {
  const double angle = std::atan2(direction.x, direction.y) / units::degree_rad;
  return angle < 0 ? angle + 360 : angle;
}

double elevation_deg(const Vec& direction) {
  return std::atan2(direction.z, std::hypot(direction.x, direction.y)) / units::degree_rad;
}

}  // namespace catoptra
