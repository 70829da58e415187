#pragma once
// What a paraboloid makes of the sun, written out a second time: one mirror point after the other, in scalars, with no
// code of the engine's. The reference for dishes.
//
// A mirror point at distance x from the axis of z = x^2 / 4f has the slope tan i = x / 2f, and sees the focus at the
// angle psi = 2 i from the axis, rho = f / cos^2 i away (closed forms of the parabola). Light that deviates from the
// central ray by a small angle of size s, in the direction alpha round it, lands in the focal plane the farther out the
// larger s is. So for each alpha there is one s*(alpha) that lands at the radius r, found by bisection on the exact
// reflected ray, and a radial law of s gives the share of light inside: (s* / T)^2 for an even disc of half-angle T,
// 1 - exp(-s*^2 / 2 sigma^2) for a Gaussian. Shares are averaged over alpha, then over x with the weight x dx.
#include <algorithm>
#include <array>
#include <boost/math/quadrature/gauss.hpp>
#include <cmath>
#include <numbers>

namespace reference {

using Triple = std::array<double, 3>;
constexpr double full_turn = 2 * std::numbers::pi;

inline double inner(const Triple& a, const Triple& b) {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/// What strays from the central ray, and by which law.
enum class Stray { disc_sun, gaussian_sun, slope };

/// Radius in the focal plane at which light from (x, 0) lands.
inline double landing_radius(double x, double f, Stray what, double s, double alpha) {
  const double slope = x / (2 * f), h = std::sqrt(1 + slope * slope);
  Triple normal{-slope / h, 0, 1 / h};
  Triple to_sun{0, 0, 1};
  const double a = s * std::cos(alpha), b = s * std::sin(alpha);
  if (what == Stray::slope) {
    normal = {normal[0] + a / h, b, normal[2] + a * slope / h};  // (1, 0, slope) / h lies in the surface
    const double size = std::sqrt(inner(normal, normal));
    for (double& n : normal) n /= size;
  } else {
    to_sun = {a, b, std::sqrt(1 - s * s)};
  }
  const double cosine = inner(to_sun, normal);
  Triple out;
  for (int k = 0; k < 3; ++k) out[k] = 2 * cosine * normal[k] - to_sun[k];
  if (out[2] <= 0) return 1e300;  // it never comes up to the plane
  const double t = (f - x * x / (4 * f)) / out[2];
  return std::hypot(x + t * out[0], t * out[1]);
}

/// Share of the light of mirror point x that lands within r. `size`: T or sigma, rad.
inline double share_of_point(double x, double f, double r, Stray what, double size) {
  constexpr int directions = 360;
  double sum = 0;
  for (int k = 0; k < directions; ++k) {
    const double alpha = (k + 0.5) * full_turn / 2 / directions;  // symmetric about the plane of incidence
    double low = 0, high = what == Stray::disc_sun ? size : 9 * size;
    if (landing_radius(x, f, what, high, alpha) > r) {
      for (int step = 0; step < 42; ++step) {
        const double middle = (low + high) / 2;
        (landing_radius(x, f, what, middle, alpha) > r ? high : low) = middle;
      }
    }
    if (what == Stray::disc_sun) {
      // A mirror gets L (s . n) from each direction s of the sun, which is cos i (1 - s tan i cos alpha) here.
      const double lean = -x / (2 * f) * std::cos(alpha);
      sum += high * high * (1 + 2 * lean * high / 3) / (size * size);
    } else {
      sum += -std::expm1(-0.5 * high * high / (size * size));
    }
  }
  return sum / directions;
}

/// Mean of value(x) over a ring-shaped aperture.
template <class Value>
double ring_mean(double from, double to, Value&& value) {
  constexpr int pieces = 8;
  double sum = 0;
  for (int k = 0; k < pieces; ++k) {
    const double a = from + (to - from) * k / pieces, b = from + (to - from) * (k + 1) / pieces;
    sum += boost::math::quadrature::gauss<double, 15>::integrate([&](double x) { return value(x) * x; }, a, b);
  }
  return 2 * sum / (to * to - from * from);
}

/// Intercept of a flat round receiver of radius r in the focal plane; mirror between x = from and the rim.
inline double dish_intercept(double rim_rad, double f, double from, double r, Stray what, double size) {
  return ring_mean(from, 2 * f * std::tan(rim_rad / 2), [&](double x) { return share_of_point(x, f, r, what, size); });
}

/// Share of light within r in small angles, for a disc of half-angle T and slope errors of sigma per axis together: a
/// normal that tilts by a in the plane of incidence and b across it turns the ray by 2 a and by 2 b cos i (the law of
/// reflection to first order); angles (u, v) land at (rho u / cos psi, rho v).
inline double share_of_disc_and_slope(double x, double f, double r, double T, double sigma) {
  using Rule = boost::math::quadrature::gauss<double, 15>;
  const double i = std::atan(x / (2 * f)), rho = f / std::pow(std::cos(i), 2);
  const double in_plane = r * std::cos(2 * i) / rho, across = r / rho;  // half axes of the ellipse of angles
  const double su = 2 * sigma, sv = 2 * sigma * std::cos(i);
  const auto gaussian_inside = [&](double u0, double v0) {  // a Gaussian about (u0, v0) within the ellipse
    return Rule::integrate(
        [&](double w) {  // v = across sin w
          const double v = across * std::sin(w), half = in_plane * std::cos(w);
          const double z = (v - v0) / sv;
          const auto below = [&](double u) { return 0.5 * std::erfc((u0 - u) / (su * std::sqrt(2.0))); };
          return std::exp(-z * z / 2) / (sv * std::sqrt(full_turn)) * (below(half) - below(-half)) * across *
                 std::cos(w);
        },
        -full_turn / 4, full_turn / 4);
  };
  // The disc is even in q = (radius / T)^2 and in angle; a quarter stands for all.
  return Rule::integrate(
             [&](double q) {
               return Rule::integrate(
                   [&](double angle) {
                     const double at = T * std::sqrt(q);
                     return gaussian_inside(at * std::cos(angle), at * std::sin(angle));
                   },
                   0, full_turn / 4);
             },
             0.0, 1.0) /
         (full_turn / 4);
}

}  // namespace reference
