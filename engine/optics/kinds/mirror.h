#pragma once
#include <array>
#include <string_view>

#include "numeric/field.h"
#include "optics/interaction.h"
#include "optics/reflection.h"

namespace catoptra {

/// A reflecting surface with the two errors that the trade tells apart: the normal's (slope) and the reflected
/// ray's own scatter (specularity).
struct Mirror {
  static constexpr std::string_view kind = "mirror";
  AngleCurve reflectance;
  PerAxis slope_error_rad;
  PerAxis specularity_error_rad;

  static constexpr std::array<Field<Mirror>, 3> fields{{
      {"reflectance", &Mirror::reflectance, units::none, range::within(0, 1), Need::required,
       "share of the light reflected, solar weighted: a number, or rows [incidence angle in degrees, share]"},
      {"slope_error_mrad", &Mirror::slope_error_rad, units::milliradian, range::within(0, 100), Need::optional,
       "rms tilt of the normal on each axis, Gaussian: a number, or [toward x, toward y]"},
      {"specularity_error_mrad", &Mirror::specularity_error_rad, units::milliradian, range::within(0, 100),
       Need::optional, "rms spread of the reflected ray on each axis, Gaussian: a number, or [toward x, toward y]"},
  }};

  static constexpr std::array draws{Draw::slope, Draw::specularity};
  static constexpr bool turns_with_mount = true;
  bool wants(Draw draw) const {
    return draw == Draw::slope ? !slope_error_rad.is_zero() : !specularity_error_rad.is_zero();
  }

  template <class Real>
  Departure<Real> depart(const Arrival<Real>& in, const Drawn<Mirror, Real>& drawn) const {
    const auto& [slope, scatter] = drawn;
    Vec3<Real> m = in.turned_normal;
    if (slope.drawn) m = tilted(m, tangents_at(in.round, in.normal), slope, slope_error_rad);
    Vec3<Real> r = reflected(in.direction, m);
    if (scatter.drawn) {
      const bool evenly = specularity_error_rad.x == specularity_error_rad.y;
      r = unit(tilted(r, evenly ? any_tangents(r) : tangents_at(in.round, r), scatter, specularity_error_rad));
    }
    // An error that turns a grazing ray into the mirror leaves it there.
    const Real on = select(dot(r, in.normal) > 0, Real(in.weight * value_at_cosine(reflectance, in.cosine)), Real(0));
    return {r, {on, in.weight - on}};
  }
};

}  // namespace catoptra
