#pragma once
// What glass does to light: Snell, Fresnel, Sellmeier, and a plate with all its internal reflections.
// Derivations, and how good a thin plate is: docs/theory/covers.md.
#include <array>

#include "numeric/lanes.h"
#include "optics/interaction.h"

namespace catoptra {

/// Power reflectances of a smooth surface, and the cosine of the refracted ray's angle.
template <class Real>
struct Interface {
  Real s, p;    // electric field across the plane of incidence, and in it
  Real cosine;  // 0 where all light is reflected
};

/// A surface met from a medium of index 1 into one of index `index` (or, in general, their ratio), at the cosine of the
/// incidence angle. Beyond the critical angle both reflectances are 1.
/// Snell's law and Fresnel's equations: M. Born and E. Wolf, Principles of Optics, 7th ed. 1999, section 1.5.2.
template <class Real>
Interface<Real> at_interface(double index, const Real& cosine) {
  const Real sine2 = larger((1 - cosine) * (1 + cosine), Real(0));
  const Real onward = square_root(larger(1 - sine2 * (1 / (index * index)), Real(0)));
  const Real s = (cosine - index * onward) / (cosine + index * onward);
  const Real p = (index * cosine - onward) / (index * cosine + onward);
  return {s * s, p * p, onward};
}

/// A plate of one glass in air, so thin that light goes straight on. What it reflects counts as lost.
struct Pane {
  double index = 1.5;
  double thickness_m = 0;
  double absorption_per_m = 0;  // of power: exp(-absorption x way in the glass) is left

  static constexpr std::array<Draw, 0> draws{};
  bool wants(Draw) const { return false; }
  template <class Real>
  Departure<Real> depart(const Arrival<Real>& in, const Drawn<Pane, Real>&) const;
};

/// Where the light on a plate goes; the three add to 1.
template <class Real>
struct PaneShares {
  Real transmitted, reflected, absorbed;
};

/// Of one polarisation: `r` the reflectance of either face, `a` what one crossing leaves. The rays between the faces
/// add up as powers, to (1 - r)^2 a (1 + r^2 a^2 + ...): glass of millimetres is far thicker than sunlight's coherence.
/// J. A. Duffie and W. A. Beckman, Solar Engineering of Thermal Processes, 4th ed. 2013, section 5.3.
template <class Real>
PaneShares<Real> between_faces(const Real& r, const Real& a) {
  const Real back = r * a;
  // At grazing incidence r = 1, and without absorption both sides are 0: nothing passes.
  const Real passes = a * (1 - r) * (1 - r) / larger((1 - back) * (1 + back), Real(1e-300));
  const Real turned = r * (1 + a * passes);
  return {passes, turned, 1 - passes - turned};
}

/// Both polarisations of a plate, each kept apart from face to face.
template <class Real>
struct PolarisedShares {
  PaneShares<Real> s, p;
};
template <class Real>
PolarisedShares<Real> polarised_shares(const Pane& pane, const Real& cosine) {
  const auto face = at_interface(pane.index, cosine);
  const Real left = exponential(Real(-(pane.absorption_per_m * pane.thickness_m) / face.cosine));
  return {between_faces(face.s, left), between_faces(face.p, left)};
}

/// Of light that is not polarised, as the sun's.
template <class Real>
PaneShares<Real> shares_of(const Pane& pane, const Real& cosine) {
  const auto both = polarised_shares(pane, cosine);
  return {0.5 * (both.s.transmitted + both.p.transmitted), 0.5 * (both.s.reflected + both.p.reflected),
          0.5 * (both.s.absorbed + both.p.absorbed)};
}

template <class Real>
Departure<Real> Pane::depart(const Arrival<Real>& in, const Drawn<Pane, Real>&) const {
  const Real on = in.weight * shares_of(*this, in.cosine).transmitted;
  return {in.direction, {on, in.weight - on}};
}

/// n^2 = 1 + the sum of B w^2 / (w^2 - C), w the wavelength in vacuum: W. Sellmeier, Ann. Phys. 219 (1871) 272; the
/// three-term form of glass catalogues.
struct Sellmeier {
  std::array<double, 3> b{}, c_m2{};

  double squared_index(double wavelength_m) const {
    const double w2 = wavelength_m * wavelength_m;
    double sum = 1;
    for (std::size_t i = 0; i < b.size(); ++i) sum += b[i] * w2 / (w2 - c_m2[i]);
    return sum;
  }
};

}  // namespace catoptra
