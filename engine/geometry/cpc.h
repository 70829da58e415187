#pragma once
// Walls of compound parabolic concentrators, round and as troughs. The origin is the middle of the exit, z runs up to
// the entrance, the front is the inside. They end where their own sizes say, whatever outline they are given. How and
// why: docs/theory/cpc.md.
#include <optional>
#include <string>

#include "geometry/entry_point.h"
#include "geometry/frame.h"
#include "geometry/outline.h"

namespace catoptra {

/// The wall's section: a parabola whose axis leans by the acceptance half-angle and whose focus is the opposite edge of
/// the exit. In (r, z), with s and c the half-angle's sine and cosine and e the exit's half width,
///   (c r + s z)^2 + 2 e (1 + s)^2 r - 2 e c (2 + s) z - e^2 (1 + s) (3 + s) = 0
/// (R. Winston, J. C. Minano and P. Benitez, Nonimaging Optics, 2005, chapter 4; the equation from memory, derived
/// again in docs/theory/cpc.md).
class CpcProfile {
 public:
  /// `height_m`: where the wall is cut off; 0: not at all. Throws std::invalid_argument for a half-angle outside (0,
  /// pi/2), an exit of no width, and a height above full_height_m().
  CpcProfile(double half_angle_rad, double exit_half_m, double height_m = 0);

  double half_angle_rad() const { return half_angle_rad_; }
  double exit_half_m() const { return exit_half_m_; }
  double height_m() const { return height_m_; }
  double full_height_m() const { return full_height_m_; }
  double entrance_half_m() const { return entrance_half_m_; }

  template <class Real>
  struct Place {
    Real radius, slope;  // half width at a height, m, and how it grows with the height
  };
  /// The root of the equation in the form that nothing cancels in; under the root the square of z drops out.
  template <class Real>
  Place<Real> at(const Real& z) const {
    const Real outside = c0_ + z * (c1_ - s_ * s_ * z), lean = (2 * c_ * s_) * z + a_;
    const Real r = 2 * outside / (lean + square_root(d0_ + d1_ * z));
    const Real across = 2 * (c_ * r + s_ * z);
    return {r, (c1_ - s_ * across) / (c_ * across + a_)};
  }

 private:
  double half_angle_rad_, exit_half_m_, s_, c_;
  double a_, c0_, c1_, d0_, d1_;
  double full_height_m_, height_m_, entrance_half_m_ = 0;
};

/// The wall of revolution, or the section's two walls carried along y, as far either way as half_length_m.
template <bool is_round>
class CpcWall {
 public:
  static constexpr bool above_outline = false;

  explicit CpcWall(const CpcProfile& profile, double half_length_m = 0);

  const CpcProfile& profile() const { return profile_; }
  double half_length_m() const { return half_length_m_; }  // of a trough
  /// What light enters by, at the height of the profile.
  AnyOutline entrance() const;

  /// As hit_distance_m(). Error: as there, k = 32, L the largest distance from the origin.
  template <class Real>
  Real first_hit_m(const Vec3<Real>& p, const Vec3<Real>& d, const Mask<Real>& own) const;
  template <class Real>
  Vec3<Real> normal(const Vec3<Real>& p) const;
  template <class Real>
  EntryPoint<Real> entry(const Real& u, const Real& v) const;
  double area_m2() const { return area_m2_; }
  Vec vector_area_m2() const;
  static std::optional<double> lit_area_m2(const Vec&) { return std::nullopt; }
  Box box(const AnyOutline&) const;
  std::optional<CpcWall> scaled(double) const { return std::nullopt; }
  std::string words(const AnyOutline&) const;

 private:
  CpcProfile profile_;
  double half_length_m_, reach_m_ = 0, area_m2_ = 0;
};

using Cpc = CpcWall<true>;
using CpcTrough = CpcWall<false>;

}  // namespace catoptra
