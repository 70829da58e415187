#pragma once
#include <array>
#include <string_view>
#include <vector>

#include "numeric/field.h"

namespace catoptra {

/// asin(R / d): nominal solar radius R = 695,700 km (IAU 2015 resolution B3), d = 1 au = 149,597,870.7 km
/// (IAU 2012 resolution B2). Between perihelion and aphelion the true angle moves by 1.7 % either way.
inline constexpr double nominal_half_angle_rad = 4.650484023614976e-3;

/// A disc of even brightness.
struct DiscSun {
  static constexpr std::string_view kind = "disc";
  double half_angle_rad = nominal_half_angle_rad;

  static constexpr std::array<Field<DiscSun>, 1> fields{{
      {"half_angle_mrad", &DiscSun::half_angle_rad, units::milliradian, Range{0, 100, true, false}, Need::optional,
       "angle from the sun's centre to its edge"},
  }};

  double radiance(double angle_rad) const { return angle_rad <= half_angle_rad ? 1 : 0; }
  std::vector<double> breaks_rad() const { return {half_angle_rad}; }
};

}  // namespace catoptra
