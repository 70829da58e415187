#pragma once
#include <array>
#include <string_view>

#include "geometry/cpc.h"
#include "numeric/field.h"

namespace catoptra {

inline constexpr Range acceptance_deg = range::within(0.1, 89);

/// Compound parabolic concentrator of revolution: a wall open at both ends, its exit at the origin.
struct CpcShape {
  static constexpr std::string_view kind = "cpc";
  double half_angle_rad = 0, exit_m = 0, height_m = 0;

  static constexpr std::array<Field<CpcShape>, 3> fields{{
      {"acceptance_half_angle_deg", &CpcShape::half_angle_rad, units::degree, acceptance_deg, Need::required,
       "largest angle to the axis at which light is accepted"},
      {"exit_diameter_m", &CpcShape::exit_m, units::metre, range::length_m, Need::required,
       "diameter of the exit, where the absorber lies"},
      {"height_m", &CpcShape::height_m, units::metre, range::within(0, 1e6), Need::optional,
       "height at which it is cut off, from the exit; 0: the whole height"},
  }};

  AnySurface surface() const { return Cpc(profile()); }
  /// As CpcProfile's constructor.
  void check() const { (void)profile(); }

 private:
  CpcProfile profile() const { return {half_angle_rad, exit_m / 2, height_m}; }
};

/// The same section carried along y: two walls.
struct CpcTroughShape {
  static constexpr std::string_view kind = "cpc_trough";
  double half_angle_rad = 0, exit_m = 0, length_m = 0, height_m = 0;

  static constexpr std::array<Field<CpcTroughShape>, 4> fields{{
      {"acceptance_half_angle_deg", &CpcTroughShape::half_angle_rad, units::degree, acceptance_deg, Need::required,
       "largest angle to the plane of symmetry, seen along y, at which light is accepted"},
      {"exit_width_m", &CpcTroughShape::exit_m, units::metre, range::length_m, Need::required,
       "width of the exit along x, where the absorber lies"},
      {"length_m", &CpcTroughShape::length_m, units::metre, range::length_m, Need::required, "length along y"},
      {"height_m", &CpcTroughShape::height_m, units::metre, range::within(0, 1e6), Need::optional,
       "height at which it is cut off, from the exit; 0: the whole height"},
  }};

  AnySurface surface() const { return CpcTrough(profile(), length_m / 2); }
  AnyOutline own_outline() const { return Rectangle{profile().entrance_half_m(), length_m / 2 * (1 + 1e-9), {}}; }
  /// As CpcProfile's constructor.
  void check() const { (void)profile(); }

 private:
  CpcProfile profile() const { return {half_angle_rad, exit_m / 2, height_m}; }
};

}  // namespace catoptra
