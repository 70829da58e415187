#pragma once
#include <array>
#include <stdexcept>
#include <string_view>

#include "geometry/outline.h"
#include "numeric/field.h"

namespace catoptra {

/// Circle with a round hole in its middle.
struct AnnulusAperture {
  static constexpr std::string_view kind = "annulus";
  double outer_diameter_m = 0, inner_diameter_m = 0;
  Vec2 center_m;

  static constexpr std::array<Field<AnnulusAperture>, 3> fields{{
      {"outer_diameter_m", &AnnulusAperture::outer_diameter_m, units::metre, range::length_m, Need::required,
       "outer diameter"},
      {"inner_diameter_m", &AnnulusAperture::inner_diameter_m, units::metre, range::within(0, 1e6), Need::required,
       "diameter of the hole, less than outer_diameter_m"},
      {"center_m", &AnnulusAperture::center_m, units::metre, range::position_m, Need::optional,
       "[x, y] of the middle, from the surface's axis"},
  }};

  AnyOutline outline() const { return Ring{inner_diameter_m / 2, outer_diameter_m / 2, center_m}; }
  void check() const {
    if (inner_diameter_m >= outer_diameter_m) {
      throw std::invalid_argument("inner_diameter_m must be less than outer_diameter_m");
    }
  }
};

}  // namespace catoptra
