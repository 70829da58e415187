#pragma once
// The surfaces of correctors: no quadrics, so they find their rays' hits themselves. The origin is the focus, z the
// primary's axis; the front is the side that faces the focus, where the light comes from. They end where their own
// sizes say, whatever outline they are given. Theory: docs/theory/correctors.md.
#include <memory>
#include <optional>
#include <string>

#include "geometry/entry_point.h"
#include "geometry/focal_profile.h"
#include "geometry/outline.h"

namespace catoptra {

/// Corrector of a primary that is round about its axis.
class Corrector {
 public:
  static constexpr bool above_outline = false;

  explicit Corrector(std::shared_ptr<const FocalProfile> profile) : profile_(std::move(profile)) {}

  const FocalProfile& profile() const { return *profile_; }

  /// As hit_distance_m(). Error: as there, k = 8, L the largest distance from the focus.
  template <class Real>
  Real first_hit_m(const Vec3<Real>& p, const Vec3<Real>& d, const Mask<Real>& own) const;
  template <class Real>
  Vec3<Real> normal(const Vec3<Real>& p) const;
  template <class Real>
  EntryPoint<Real> entry(const Real& u, const Real& v) const;
  double area_m2() const { return profile_->measure(); }
  Vec vector_area_m2() const;
  static std::optional<double> lit_area_m2(const Vec&) { return std::nullopt; }
  Box box(const AnyOutline&) const;
  std::optional<Corrector> scaled(double factor) const;
  std::string words(const AnyOutline&) const;

 private:
  std::shared_ptr<const FocalProfile> profile_;
};

/// Corrector of a trough: its section carried along y, as far either way as half_length_m.
class TroughCorrector {
 public:
  static constexpr bool above_outline = false;

  TroughCorrector(std::shared_ptr<const FocalProfile> profile, double half_length_m)
      : profile_(std::move(profile)), half_length_m_(half_length_m) {}

  const FocalProfile& profile() const { return *profile_; }
  double half_length_m() const { return half_length_m_; }

  template <class Real>
  Real first_hit_m(const Vec3<Real>& p, const Vec3<Real>& d, const Mask<Real>& own) const;
  template <class Real>
  Vec3<Real> normal(const Vec3<Real>& p) const;
  template <class Real>
  EntryPoint<Real> entry(const Real& u, const Real& v) const;
  double area_m2() const { return 2 * profile_->measure() * 2 * half_length_m_; }
  Vec vector_area_m2() const;
  static std::optional<double> lit_area_m2(const Vec&) { return std::nullopt; }
  Box box(const AnyOutline&) const;
  std::optional<TroughCorrector> scaled(double factor) const;
  std::string words(const AnyOutline&) const;

 private:
  std::shared_ptr<const FocalProfile> profile_;
  double half_length_m_;
};

}  // namespace catoptra
