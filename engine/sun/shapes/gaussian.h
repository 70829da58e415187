#pragma once
#include <array>
#include <cmath>
#include <limits>
#include <string_view>

#include "numeric/field.h"

namespace catoptra {

/// A bell without an edge: the deviations of the direction cosines along any two axes across the centre are normal
/// and independent, so radiance is exp(-sin^2(angle) / (2 sigma^2)). Stated in the sine plane, not in the angle: there
/// the DNI-weighted law is a Gaussian exactly. The two differ by the square of some milliradians.
struct GaussianSun {
  static constexpr std::string_view kind = "gaussian";
  double sigma_rad = std::numeric_limits<double>::quiet_NaN();  // no published value fits all skies: it must be said

  static constexpr std::array<Field<GaussianSun>, 1> fields{{
      {"sigma_mrad", &GaussianSun::sigma_rad, units::milliradian, Range{0, 50, true, false}, Need::required,
       "rms angle on each axis; an even disc has half its half-angle, 2.33 mrad"},
  }};

  double radiance(double angle_rad) const {
    const double sine = std::sin(angle_rad) / sigma_rad;
    return std::exp(-0.5 * sine * sine);
  }
};

}  // namespace catoptra
