#pragma once
#include <array>
#include <cmath>
#include <stdexcept>
#include <string_view>

#include "geometry/outline.h"
#include "numeric/field.h"

namespace catoptra {

/// Part of a circle or annulus between two angles.
struct SectorAperture {
  static constexpr std::string_view kind = "sector";
  double outer_diameter_m = 0, inner_diameter_m = 0;
  double from_rad = 0, to_rad = 0;
  Vec2 center_m;

  static constexpr std::array<Field<SectorAperture>, 5> fields{{
      {"outer_diameter_m", &SectorAperture::outer_diameter_m, units::metre, range::length_m, Need::required,
       "outer diameter"},
      {"inner_diameter_m", &SectorAperture::inner_diameter_m, units::metre, range::within(0, 1e6), Need::optional,
       "inner diameter, less than outer_diameter_m"},
      {"from_deg", &SectorAperture::from_rad, units::degree, range::within(-360, 360), Need::required,
       "where it begins, from x toward y"},
      {"to_deg", &SectorAperture::to_rad, units::degree, range::within(-360, 360), Need::required,
       "where it ends: more than from_deg, by 360 at most"},
      {"center_m", &SectorAperture::center_m, units::metre, range::position_m, Need::optional,
       "[x, y] of the middle, from the surface's axis"},
  }};

  AnyOutline outline() const {
    return Sector(Ring{inner_diameter_m / 2, outer_diameter_m / 2, center_m}, from_rad,
                  std::fmin(to_rad - from_rad, 2 * pi));
  }
  void check() const {
    if (inner_diameter_m >= outer_diameter_m) {
      throw std::invalid_argument("inner_diameter_m must be less than outer_diameter_m");
    }
    if (!(to_rad > from_rad) || to_rad - from_rad > 2 * pi * (1 + 1e-12)) {
      throw std::invalid_argument("to_deg must be more than from_deg, by 360 at most");
    }
  }
};

}  // namespace catoptra
