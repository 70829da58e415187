#pragma once
// Sine and cosine of a share of a full turn, and pairs of Gaussians: what sampling needs most.
#include <utility>

#include "numeric/lanes.h"

namespace catoptra {

inline double nearest_integer(double x) { return std::nearbyint(x); }
inline Pack nearest_integer(const Pack& x) { return xsimd::nearbyint(x); }

/// sin(2 pi u) and cos(2 pi u), |u| <= 2. Within 3e-16. The quarter turn is taken off exactly, so no general reduction
/// is needed; on what is left, |r| <= pi/4, the Taylor polynomials of degree 15 and 16 leave (pi/4)^17 / 17! = 5e-17.
template <class Real>
SinCos<Real> sine_cosine_of_turns(const Real& u) {
  const Real quarters = nearest_integer(Real(4 * u));
  const Real r = (u - 0.25 * quarters) * (2 * pi);
  const Real r2 = r * r;
  const auto horner = [&](auto first, auto... rest) {
    Real sum(first);
    ((sum = multiply_add(sum, r2, Real(rest))), ...);
    return sum;
  };
  const Real s = multiply_add(Real(r * r2), horner(-1 / 1307674368000.0, 1 / 6227020800.0, -1 / 39916800.0, 1 / 362880.0, -1 / 5040.0,
                                     1 / 120.0, -1 / 6.0), r);
  const Real c = multiply_add(r2, horner(1 / 20922789888000.0, -1 / 87178291200.0, 1 / 479001600.0, -1 / 3628800.0, 1 / 40320.0,
                                 -1 / 720.0, 1 / 24.0, -1 / 2.0), Real(1));
  // quarters mod 4 picks which polynomial and which sign.
  const Real turn = quarters - 4 * nearest_integer(Real(0.25 * quarters));  // -2 … 2: which quarter
  const Real size = absolute(turn);
  const Mask<Real> odd = size == 1;
  const Real sine = select(odd, c, s), cosine = select(odd, s, c);
  const Mask<Real> flip_sine = (turn == -1) | (size == 2);
  const Mask<Real> flip_cosine = (turn == 1) | (size == 2);
  return {select(flip_sine, -sine, sine), select(flip_cosine, -cosine, cosine)};
}

/// Two independent standard Gaussians from two uniforms in (0, 1): G. E. P. Box and M. E. Muller, Ann. Math. Stat. 29
/// (1958) 610. In polar form the radius follows its inverse CDF, which keeps quasi-random points well spread.
template <class Real>
std::pair<Real, Real> gaussian_pair(const Real& u, const Real& v) {
  const Real radius = square_root(Real(-2 * logarithm(u)));
  const auto angle = sine_cosine_of_turns(v);
  return {radius * angle.cosine, radius * angle.sine};
}

}  // namespace catoptra
