#include "geometry/asphere.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <stdexcept>

#include "geometry/words.h"

namespace catoptra {

Asphere::Asphere(double curvature_per_m, double q, const std::array<double, 4>& terms, double rim_m)
    : c_(curvature_per_m), q_(q), terms_(terms), rim_m_(rim_m) {
  const double end = rim_m * rim_m;
  if (!(q * curvature_per_m * curvature_per_m * end < 1)) throw std::invalid_argument("the conic turns back");
  // Each part's derivatives are largest in size at one end or the other, so their sum's bound follows from the ends.
  const double root = std::sqrt(1 - q_ * c_ * c_ * end), steepest = std::fabs(c_) / (2 * std::fmin(1, root));
  double slope = steepest, bend = std::fabs(q_) * c_ * c_ * steepest / (2 * std::pow(std::fmin(1, root), 2));
  double power = end;  // s^(k - 1) of the term a s^k
  for (std::size_t i = 0; i < terms_.size(); ++i) {
    const double k = static_cast<double>(i) + 2;
    slope += k * std::fabs(terms_[i]) * power;
    bend += k * (k - 1) * std::fabs(terms_[i]) * power / end;
    power *= end;
  }
  bend_bound_ = (4 * end * bend + 2 * slope) * (1 + 1e-12);
  // Between two looks the height strays from them by no more than half their distance times the steepest slope.
  constexpr int looks = 1024;
  low_m_ = high_m_ = 0;
  for (int i = 1; i <= looks; ++i) {
    const double z = height(end * i / looks).value;
    low_m_ = std::fmin(low_m_, z);
    high_m_ = std::fmax(high_m_, z);
  }
  const double hair = slope * end / (2 * looks) + 1e-9 * rim_m;
  low_m_ -= hair;
  high_m_ += hair;
}

std::optional<Asphere> Asphere::scaled(double factor) const {
  std::array<double, 4> terms = terms_;
  double power = factor * factor * factor;
  for (double& a : terms) {
    a /= power;
    power *= factor * factor;
  }
  return Asphere(c_ / factor, q_, terms, rim_m_);
}

double Asphere::steepest_sine(const AnyOutline&) const {
  // |dz/dr| = 2 r |z'|, whose derivative to r is no more than bend_bound_.
  constexpr int looks = 1024;
  double steepest = 0;
  for (int i = 0; i <= looks; ++i) {
    const double r = rim_m_ * i / looks;
    steepest = std::fmax(steepest, 2 * r * std::fabs(height(r * r).slope));
  }
  steepest += bend_bound_ * rim_m_ / (2 * looks);
  return steepest / std::sqrt(1 + steepest * steepest);
}

double Asphere::extent_m(const AnyOutline& outline) const {
  return radius_span_m(outline).largest_m;
}

double Asphere::least_scale(const AnyOutline& outline) const {
  // Of its conic; a rim beyond would have been refused.
  return q_ > 0 && c_ != 0 ? extent_m(outline) / (1 / (std::fabs(c_) * std::sqrt(q_))) : 0;
}

Bends Asphere::bends() const {
  const double sine = steepest_sine(Whole{});
  const Bend bend{sine / std::sqrt(1 - sine * sine) / rim_m_, 0};
  return {bend, bend, true};
}

std::string Asphere::words(const AnyOutline&) const {
  const double height_m = height(rim_m_ * rim_m_).value;
  return conic_words(c_, q_, rim_m_, height_m) +
         fmt::format(", with polynomial terms; rim {:.4g} m above the vertex", height_m);
}

Box Asphere::box(const AnyOutline&) const {
  const double reach = rim_m_ * (1 + 1e-9);
  return {{-reach, -reach, low_m_}, {reach, reach, high_m_}};
}

/// Goes along the ray from where it enters the surface's bounds. With f(t) the ray's height above the surface and B a
/// bound of |f''|, no root lies before the first one of |f| + s f' x - B x^2 / 2 (s the sign of f): a step that never
/// passes a root and ends up as fast as Newton's.
template <class Real>
Real Asphere::first_hit_m(const Vec3<Real>& p, const Vec3<Real>& d, const Mask<Real>& own) const {
  const Real start = select(own, Real(0), -(p.x * d.x + p.y * d.y + p.z * d.z));
  const Vec3<Real> o{multiply_add(start, d.x, p.x), multiply_add(start, d.y, p.y), multiply_add(start, d.z, p.z)};
  // The stretch inside the cylinder of the rim and between the bounds of z; a hair longer, as its ends are rounded.
  const Real across = d.x * d.x + d.y * d.y;
  const Real half = o.x * d.x + o.y * d.y, beyond = o.x * o.x + o.y * o.y - rim_m_ * rim_m_ * (1 + 1e-12);
  const Real root = square_root(half * half - across * beyond);  // NaN: passes by
  const Mask<Real> upright = across < 1e-30;
  Real from = select(upright, Real(-infinity), (-half - root) / across);
  Real to = select(upright, Real(infinity), (root - half) / across);
  const Real one = (low_m_ - o.z) / d.z, other = (high_m_ - o.z) / d.z;  // infinite or NaN where level
  const Mask<Real> level = absolute(d.z) < 1e-300;
  from = larger(from, select(level, Real(-infinity), smaller(one, other)));
  to = smaller(to, select(level, Real(infinity), larger(one, other)));
  from = larger(from, -start);
  Mask<Real> open = ((upright & (beyond <= 0)) | ((!upright) & (root >= 0))) & (from <= to);

  const Real bound = bend_bound_ * across;
  struct Above {
    Real height, slope;
  };
  const auto above = [&](const Real& t) {
    const Real x = multiply_add(t, d.x, o.x), y = multiply_add(t, d.y, o.y), z = multiply_add(t, d.z, o.z);
    const auto h = height(x * x + y * y);
    return Above{z - h.value, d.z - 2 * (x * d.x + y * d.y) * h.slope};
  };
  // A ray that starts on the surface stays on the side that it sets out to for as long as the bend can't bring it back;
  // half of that is far enough for rounding not to matter.
  const Real departure = above(Real(0)).slope;
  from = select(own, larger(from, absolute(departure) / bound), from);
  open = open & (from <= to);
  Real t = from, hit(infinity);
  Real side = select(own, copy_sign(Real(1), departure), Real(0));
  for (int round = 0; round < 200 && any(open); ++round) {
    const Above here = above(t);
    if (round == 0) side = select(own, side, copy_sign(Real(1), here.height));
    const Real f = side * here.height, slope = side * here.slope;
    const Real away = square_root(slope * slope + 2 * bound * larger(f, Real(0)));
    const Real step = select(slope < 0, 2 * f / (away - slope), (slope + away) / bound);
    const Mask<Real> arrived = open & ((f <= 0) | (step <= 1e-16 * rim_m_));
    hit = select(arrived, t, hit);
    t = select(open, t + step, t);
    open = open & !arrived & (t <= to);  // NaN ends too
  }
  const Real distance = start + hit;
  return select(distance > 0, distance, Real(infinity));
}

template double Asphere::first_hit_m(const Vec&, const Vec&, const bool&) const;
template Pack Asphere::first_hit_m(const Vec3<Pack>&, const Vec3<Pack>&, const Mask<Pack>&) const;

}  // namespace catoptra
