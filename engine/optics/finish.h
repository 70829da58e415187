#pragma once
// What a surface does to light. Each finish is a plain struct with its scene keys; the tracer visits the closed set
// once a bundle.
#include <array>
#include <string_view>
#include <variant>

#include "numeric/field.h"

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
       "rms tilt of the normal about each axis, Gaussian: a number, or [along x, along y]"},
      {"specularity_error_mrad", &Mirror::specularity_error_rad, units::milliradian, range::within(0, 100),
       Need::optional, "rms spread of the reflected ray on each axis, Gaussian: a number, or [along x, along y]"},
  }};
};

inline constexpr std::array<std::string_view, 2> rest_words{"diffuse", "specular"};

/// A surface that takes light in; what it does not absorb leaves by Lambert's law, or as from a mirror.
struct Absorber {
  static constexpr std::string_view kind = "absorber";
  AngleCurve absorptance;
  Choice rest;

  static constexpr std::array<Field<Absorber>, 2> fields{{
      {"absorptance", &Absorber::absorptance, units::none, range::within(0, 1), Need::required,
       "share of the light absorbed: a number, or rows [incidence angle in degrees, share]"},
      {"rest", &Absorber::rest, units::none, range::any, Need::optional, "how light that is not absorbed leaves",
       rest_words},
  }};
};

/// Stops every ray: a mast, a housing, the back of a mirror.
struct Dark {
  static constexpr std::string_view kind = "dark";
  static constexpr std::array<Field<Dark>, 0> fields{};
};

using AnyFinish = std::variant<Mirror, Absorber, Dark>;

}  // namespace catoptra
