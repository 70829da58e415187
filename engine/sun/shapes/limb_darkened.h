#pragma once
#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>
#include <vector>

#include "numeric/field.h"
#include "sun/shapes/disc.h"

namespace catoptra {

/// The sun's own disc, darker toward its edge, as seen above the atmosphere.
struct LimbDarkenedSun {
  static constexpr std::string_view kind = "limb_darkened";
  double half_angle_rad = nominal_half_angle_rad;

  static constexpr std::array<Field<LimbDarkenedSun>, 1> fields{{
      {"half_angle_mrad", &LimbDarkenedSun::half_angle_rad, units::milliradian, Range{0, 100, true, false},
       Need::optional, "angle from the sun's centre to its edge"},
  }};

  /// 0.30 + 0.93 mu - 0.23 mu^2 at 550 nm: A. N. Cox (ed.), Allen's Astrophysical Quantities, 4th ed. 2000, the
  /// chapter on the sun. mu is the cosine of the angle at which light leaves the sun's surface; a sight line that
  /// passes the centre at R sin(emission) gives sin(emission) = sin(angle) / sin(half angle), exactly.
  double radiance(double angle_rad) const {
    if (angle_rad > half_angle_rad) return 0;
    const double sine = std::sin(angle_rad) / std::sin(half_angle_rad);
    const double mu = std::sqrt(std::max(0.0, (1 - sine) * (1 + sine)));
    return 0.30 + mu * (0.93 - 0.23 * mu);
  }
  std::vector<double> breaks_rad() const { return {half_angle_rad}; }
};

}  // namespace catoptra
