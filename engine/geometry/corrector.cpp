#include "geometry/corrector.h"

#include <fmt/format.h>

#include "geometry/line_search.h"
#include "geometry/words.h"
#include "numeric/turn.h"

namespace catoptra {

namespace {

/// Toward the focus: minus the gradient of |w| / rho, which is (k - c k') w/|w| + k' z.
template <class Real>
Vec3<Real> front_normal(const FocalProfile& profile, const Vec3<Real>& w) {
  const Vec3<Real> e = unit(w);
  const auto k = profile.inverse(e.z);
  const Real along = k.value - e.z * k.slope;
  return unit(Vec3<Real>{-along * e.x, -along * e.y, -(along * e.z + k.slope)});
}

/// How much longer the section is than its turn about the focus: sqrt(1 + (rho'/rho)^2), rho' to the polar angle.
template <class Real>
Real measure_root(const typename FocalProfile::Inverse<Real>& k, const Real& sine2) {
  const Real steep = k.slope / k.value;
  return square_root(1 + sine2 * steep * steep);
}

/// Half the width of the rim.
double rim_half_m(const FocalProfile& profile) {
  const double c = profile.rim_cosine();
  return std::sqrt(std::fmax(0, (1 - c) * (1 + c))) / profile.inverse(c).value;
}

std::string section_words(const FocalProfile& p) {
  return fmt::format("vertex {:.4g} m from its focus, {:.4g} m across, {:.4g} m high, rim {} off its axis",
                     p.vertex_m(), 2 * p.width_m(), p.high_m() - p.low_m(), degrees_words(std::acos(p.rim_cosine())));
}

}  // namespace

template <class Real>
Real Corrector::first_hit_m(const Vec3<Real>& p, const Vec3<Real>& d, const Mask<Real>& own) const {
  return LineSearch<Real>(*profile_, p, d, own)([](const Real& t) { return t == t; });
}

template <class Real>
Vec3<Real> Corrector::normal(const Vec3<Real>& p) const {
  return front_normal(*profile_, p);
}

template <class Real>
EntryPoint<Real> Corrector::entry(const Real& u, const Real& v) const {
  const auto place = profile_->place(u);
  const Real& c = place.at;
  const Real sine2 = larger((1 - c) * (1 + c), Real(0));
  const auto k = profile_->inverse(c);
  const Real rho = 1 / k.value, across = rho * square_root(sine2);
  const auto angle = sine_cosine_of_turns(v);
  const Vec3<Real> point{across * angle.cosine, across * angle.sine, rho * c};
  return {point, normal(point), 2 * pi * rho * rho * measure_root(k, sine2) * place.per_u};
}

Box Corrector::box(const AnyOutline&) const {
  const double r = profile_->width_m();
  return {{-r, -r, profile_->low_m()}, {r, r, profile_->high_m()}};
}

Vec Corrector::vector_area_m2() const {
  const double r = rim_half_m(*profile_);
  return {0, 0, -pi * r * r};
}

std::optional<Corrector> Corrector::scaled(double factor) const {
  return Corrector(std::make_shared<const FocalProfile>(profile_->scaled(factor)));
}

std::string Corrector::words(const AnyOutline&) const {
  return section_words(*profile_);
}

template <class Real>
Real TroughCorrector::first_hit_m(const Vec3<Real>& p, const Vec3<Real>& d, const Mask<Real>& own) const {
  // In the section; there the ray's point moves by `pace` a metre. A ray along y meets nothing: 1/0.
  const Real pace = square_root(d.x * d.x + d.z * d.z);
  const Vec3<Real> at{p.x, Real(0), p.z}, heading{d.x / pace, Real(0), d.z / pace};
  const Real t = LineSearch<Real>(*profile_, at, heading, own)(
      [&](const Real& s) { return absolute(Real(p.y + s / pace * d.y)) <= half_length_m_; });
  return select(t < infinity, Real(t / pace), Real(infinity));
}

template <class Real>
Vec3<Real> TroughCorrector::normal(const Vec3<Real>& p) const {
  return front_normal(*profile_, Vec3<Real>{p.x, Real(0), p.z});
}

template <class Real>
EntryPoint<Real> TroughCorrector::entry(const Real& u, const Real& v) const {
  const Real across = 2 * u - 1;
  const auto place = profile_->place(absolute(across));
  const auto angle = sine_cosine_of_turns(Real(place.at * (1 / (2 * pi))));
  const auto k = profile_->inverse(angle.cosine);
  const Real rho = 1 / k.value;
  const Vec3<Real> point{copy_sign(Real(rho * angle.sine), across), (2 * v - 1) * half_length_m_, rho * angle.cosine};
  const Real length = rho * measure_root(k, Real(angle.sine * angle.sine)) * (2 * place.per_u);
  return {point, normal(point), length * (2 * half_length_m_)};
}

Box TroughCorrector::box(const AnyOutline&) const {
  const double x = profile_->width_m(), y = half_length_m_ * (1 + 1e-9);
  return {{-x, -y, profile_->low_m()}, {x, y, profile_->high_m()}};
}

Vec TroughCorrector::vector_area_m2() const {
  return {0, 0, -4 * rim_half_m(*profile_) * half_length_m_};
}

std::optional<TroughCorrector> TroughCorrector::scaled(double factor) const {
  return TroughCorrector(std::make_shared<const FocalProfile>(profile_->scaled(factor)), half_length_m_);
}

std::string TroughCorrector::words(const AnyOutline&) const {
  return section_words(*profile_) + fmt::format(", {:.4g} m long", 2 * half_length_m_);
}

template double Corrector::first_hit_m(const Vec3<double>&, const Vec3<double>&, const Mask<double>&) const;
template Pack Corrector::first_hit_m(const Vec3<Pack>&, const Vec3<Pack>&, const Mask<Pack>&) const;
template Vec3<double> Corrector::normal(const Vec3<double>&) const;
template Vec3<Pack> Corrector::normal(const Vec3<Pack>&) const;
template EntryPoint<double> Corrector::entry(const double&, const double&) const;
template EntryPoint<Pack> Corrector::entry(const Pack&, const Pack&) const;
template double TroughCorrector::first_hit_m(const Vec3<double>&, const Vec3<double>&, const Mask<double>&) const;
template Pack TroughCorrector::first_hit_m(const Vec3<Pack>&, const Vec3<Pack>&, const Mask<Pack>&) const;
template Vec3<double> TroughCorrector::normal(const Vec3<double>&) const;
template Vec3<Pack> TroughCorrector::normal(const Vec3<Pack>&) const;
template EntryPoint<double> TroughCorrector::entry(const double&, const double&) const;
template EntryPoint<Pack> TroughCorrector::entry(const Pack&, const Pack&) const;

}  // namespace catoptra
