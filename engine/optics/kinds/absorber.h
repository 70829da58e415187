#pragma once
#include <array>
#include <string_view>

#include "numeric/field.h"
#include "optics/interaction.h"
#include "optics/reflection.h"

namespace catoptra {

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

  static constexpr std::array draws{Draw::rest};
  bool wants(Draw) const { return rest.index == 0; }

  template <class Real>
  Shares<Real> part(const Arrival<Real>& in) const {
    const Real kept = in.weight * value_at_cosine(absorptance, in.cosine);
    return {in.weight - kept, kept};
  }

  template <class Real>
  Vec3<Real> direction(const Arrival<Real>& in, const Drawn<Absorber, Real>& drawn) const {
    if (drawn[0].drawn) return lambertian(in.normal, drawn[0].u, drawn[0].v);
    return reflected(in.direction, in.normal);
  }
};

}  // namespace catoptra
