#pragma once
// Sine and cosine of a share of a full turn, the logarithm of a uniform, and pairs of Gaussians: what sampling needs
// most, written for its own range of arguments, at less than half the cost of the general functions.
#include <utility>

#include "numeric/lanes.h"

namespace catoptra {

inline double nearest_integer(double x) {
  return std::nearbyint(x);
}
inline Pack nearest_integer(const Pack& x) {
  return xsimd::nearbyint(x);
}

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
  const Real s = multiply_add(
      Real(r * r2),
      horner(-1 / 1307674368000.0, 1 / 6227020800.0, -1 / 39916800.0, 1 / 362880.0, -1 / 5040.0, 1 / 120.0, -1 / 6.0),
      r);
  const Real c = multiply_add(r2,
                              horner(1 / 20922789888000.0, -1 / 87178291200.0, 1 / 479001600.0, -1 / 3628800.0,
                                     1 / 40320.0, -1 / 720.0, 1 / 24.0, -1 / 2.0),
                              Real(1));
  // quarters mod 4 picks which polynomial and which sign.
  const Real turn = quarters - 4 * nearest_integer(Real(0.25 * quarters));  // -2 … 2: which quarter
  const Real size = absolute(turn);
  const Mask<Real> odd = size == 1;
  const Real sine = select(odd, c, s), cosine = select(odd, s, c);
  const Mask<Real> flip_sine = (turn == -1) | (size == 2);
  const Mask<Real> flip_cosine = (turn == 1) | (size == 2);
  return {select(flip_sine, -sine, sine), select(flip_cosine, -cosine, cosine)};
}

/// Exponent and mantissa of a positive normal number, x = mantissa 2^exponent with mantissa in [sqrt(1/2), sqrt(2)).
template <class Real>
struct Split {
  Real exponent, mantissa;
};
inline Split<Pack> split_exponent(const Pack& x) {
  using Words = xsimd::batch<std::uint64_t, Isa>;
  // Counting from the bits of sqrt(1/2) makes the exponent's step fall there.
  const Words bits = xsimd::bitwise_cast<Words>(x) - Words(0x3fe6a09e667f3bcdu);
  // A small whole number in the low bits of 2^52 + 2^51 is that number as a double, and a shift keeps no sign: hence
  // 2048.
  const Words whole = ((bits + Words(std::uint64_t{2048} << 52)) >> 52) & Words(0xfffu);
  const Pack exponent = xsimd::bitwise_cast<Pack>(whole | Words(0x4338000000000000u)) - (0x1.8p52 + 2048);
  const Words mantissa = (bits & Words(0x000fffffffffffffu)) + Words(0x3fe6a09e667f3bcdu);
  return {exponent, xsimd::bitwise_cast<Pack>(mantissa)};
}

/// ln x for positive normal x, within 2 ulp: with s = (m - 1)/(m + 1), ln m = 2 (s + s^3/3 + s^5/5 + ...);
/// |s| < 0.1716, so the series to s^23 leaves 2e-19 of s.
inline Pack natural_log(const Pack& x) {
  const auto part = split_exponent(x);
  const Pack s = (part.mantissa - 1) / (part.mantissa + 1);
  const Pack s2 = s * s;
  Pack sum(1 / 23.0);
  for (const double term :
       {1 / 21.0, 1 / 19.0, 1 / 17.0, 1 / 15.0, 1 / 13.0, 1 / 11.0, 1 / 9.0, 1 / 7.0, 1 / 5.0, 1 / 3.0}) {
    sum = multiply_add(sum, s2, Pack(term));
  }
  const Pack twice = s + s;
  return multiply_add(part.exponent, Pack(0.693147180559945309417), multiply_add(Pack(twice * s2), sum, twice));
}
inline double natural_log(double x) {
  return natural_log(Pack(x)).get(0);
}

/// Two independent standard Gaussians from two uniforms in (0, 1): G. E. P. Box and M. E. Muller, Ann. Math. Stat. 29
/// (1958) 610. In polar form the radius follows its inverse CDF, which keeps quasi-random points well spread.
template <class Real>
std::pair<Real, Real> gaussian_pair(const Real& u, const Real& v) {
  const Real radius = square_root(Real(-2 * natural_log(u)));
  const auto angle = sine_cosine_of_turns(v);
  return {radius * angle.cosine, radius * angle.sine};
}

}  // namespace catoptra
