#pragma once
// Conic of revolution with polynomial terms: z = c s / (1 + sqrt(1 - q c^2 s)) + a4 s^2 + a6 s^3 + a8 s^4 + a10 s^5,
// s = x^2 + y^2, out to its own rim; the general aspheric surface of ISO 10110-12 (from memory). No quadric, so it
// finds its rays' hits itself. Theory: docs/theory/geometry.md, "Aspheres".
#include <array>
#include <optional>
#include <string>

#include "geometry/bend.h"
#include "geometry/frame.h"
#include "geometry/outline.h"
#include "numeric/lanes.h"

namespace catoptra {

class Asphere {
 public:
  static constexpr bool above_outline = true;

  /// Curvature 1/m at the vertex, q = 1 + conic constant, a4 … a10 in 1/m^3 … 1/m^9, radius of the rim. Throws
  /// std::invalid_argument where the conic turns back before the rim.
  Asphere(double curvature_per_m, double q, const std::array<double, 4>& terms, double rim_m);

  double curvature_per_m() const { return c_; }
  double q() const { return q_; }
  double rim_m() const { return rim_m_; }
  /// All its lengths `factor` times as long, but for the rim.
  std::optional<Asphere> scaled(double factor) const;
  double steepest_sine(const AnyOutline&) const;
  double extent_m(const AnyOutline& outline) const;
  double least_scale(const AnyOutline& outline) const;
  double mean_curvature_per_m() const { return c_; }
  static bool is_sampled_to_equator() { return false; }
  /// The paraboloid that is as steep at the rim: no line is further from the next than its slope allows.
  Bends bends() const;
  std::string words(const AnyOutline&) const;
  double low_m() const { return low_m_; }  // bounds of z inside the rim
  double high_m() const { return high_m_; }

  /// z and its first two derivatives to s.
  template <class Real>
  struct Height {
    Real value, slope, bend;
  };
  template <class Real>
  Height<Real> height(const Real& s) const {
    const Real root = square_root(1 - q_ * c_ * c_ * s);
    const Real conic = c_ / (1 + root), conic_slope = c_ / (2 * root);
    const auto& [a4, a6, a8, a10] = terms_;
    return {s * (conic + s * (a4 + s * (a6 + s * (a8 + s * a10)))),
            conic_slope + s * (2 * a4 + s * (3 * a6 + s * (4 * a8 + s * (5 * a10)))),
            q_ * c_ * c_ * conic_slope / (2 * root * root) + 2 * a4 + s * (6 * a6 + s * (12 * a8 + s * (20 * a10)))};
  }

  template <class Real>
  Real sag(const Real& x, const Real& y) const {
    return height(x * x + y * y).value;
  }
  template <class Real>
  Vec3<Real> normal(const Vec3<Real>& p) const {
    const Real two_slope = 2 * height(p.x * p.x + p.y * p.y).slope;
    return unit(Vec3<Real>{-two_slope * p.x, -two_slope * p.y, Real(1)});
  }
  /// As hit_distance_m(). Error: as there, k = 32, L the rim's radius or the largest height.
  template <class Real>
  Real first_hit_m(const Vec3<Real>& p, const Vec3<Real>& d, const Mask<Real>& own) const;
  Box box(const AnyOutline&) const;

 private:
  double c_, q_;
  std::array<double, 4> terms_;
  double rim_m_;
  double low_m_ = 0, high_m_ = 0;
  double bend_bound_ = 0;  // of |4 s z''| + |2 z'|: the height along a ray bends by no more, times its slope squared
};

}  // namespace catoptra
