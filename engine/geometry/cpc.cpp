#include "geometry/cpc.h"

#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <cmath>
#include <fmt/format.h>
#include <stdexcept>
#include <string>

#include "geometry/words.h"
#include "numeric/turn.h"

namespace catoptra {

CpcProfile::CpcProfile(double half_angle_rad, double exit_half_m, double height_m)
    : half_angle_rad_(half_angle_rad),
      exit_half_m_(exit_half_m),
      s_(std::sin(half_angle_rad)),
      c_(std::cos(half_angle_rad)),
      a_(2 * exit_half_m * (1 + s_) * (1 + s_)),
      c0_(exit_half_m * exit_half_m * (1 + s_) * (3 + s_)),
      c1_(2 * exit_half_m * c_ * (2 + s_)),
      d0_(a_ * a_ + 4 * c_ * c_ * c0_),
      d1_(4 * c_ * (s_ * a_ + c_ * c1_)),
      full_height_m_(exit_half_m * (1 + 1 / s_) * c_ / s_),
      height_m_(height_m > 0 ? height_m : full_height_m_) {
  if (!(half_angle_rad > 0 && half_angle_rad < pi / 2 && exit_half_m > 0)) {
    throw std::invalid_argument("a compound parabola needs a half-angle between 0 and 90 degrees and an exit");
  }
  // A height that was worked out by hand may be off in its last digits.
  if (!(height_m_ <= full_height_m_ * (1 + 1e-9))) {
    throw std::invalid_argument("height_m must be at most " + std::to_string(full_height_m_) +
                                ", the height of the whole concentrator");
  }
  entrance_half_m_ = at(height_m_).radius;
}

namespace {

/// How far a ray point stands outside the wall, across the axis, and how that grows along the ray. The section's width
/// is concave in z and the distance from the axis convex, so this is convex along every ray: it has two roots at most,
/// between which the ray runs inside.
template <bool is_round, class Real>
class Outside {
 public:
  Outside(const CpcProfile& profile, const Vec3<Real>& o, const Vec3<Real>& d) : profile_(profile), o_(o), d_(d) {}

  struct Station {
    Real value, slope;
  };
  Station operator()(const Real& s) const {
    const Real x = multiply_add(s, d_.x, o_.x), z = multiply_add(s, d_.z, o_.z);
    const auto wall = profile_.at(z);
    if constexpr (is_round) {
      const Real y = multiply_add(s, d_.y, o_.y);
      const Real r = square_root(x * x + y * y);
      return {r - wall.radius, (x * d_.x + y * d_.y) / larger(r, Real(1e-150)) - wall.slope * d_.z};
    } else {
      return {absolute(x) - wall.radius, copy_sign(Real(1), x) * d_.x - wall.slope * d_.z};
    }
  }

 private:
  const CpcProfile& profile_;
  Vec3<Real> o_, d_;
};

/// Newton's steps against the growth of a convex function, from where it is above 0: they come down on the root from
/// one side, or run out of the stretch where there is none. On a ray that only touches the wall, a step gains one bit:
/// so many steps are allowed.
template <class Real, class Function>
Real root_from_above(const Function& f, Real x, const Real& limit, const Mask<Real>& wanted, double close) {
  Mask<Real> open = wanted, found = wanted & !wanted;
  for (int round = 0; round < 60 && any(open); ++round) {
    const auto here = f(x);
    const Real step = -here.value / here.slope;
    open = open & (here.slope < 0) & (x <= limit);  // here.value > 0, so that the step goes on
    // At a near tangent rounding may leave the value below 0 while a step is still long: the root is as near as it
    // gets.
    const Mask<Real> done = open & ((absolute(step) <= close) | (here.value <= 0));
    x = select(open, Real(x + step), x);
    found = found | (done & (x <= limit));
    open = open & !done;
  }
  return select(found, x, Real(infinity));
}

/// The root between `low`, below 0, and `high`, above: Newton's steps, and halves where those leave the bracket or
/// shrink too slowly (Press et al., Numerical Recipes, section 9.4).
template <class Real, class Function>
Real root_between(const Function& f, Real low, Real high, const Mask<Real>& wanted, double close) {
  Real x = high, last = high - low;
  Mask<Real> open = wanted;
  for (int round = 0; round < 100 && any(open); ++round) {
    const auto here = f(x);
    const Mask<Real> above = here.value > 0;
    high = select(open & above, x, high);
    low = select(open & !above, x, low);
    const Real newton = x - here.value / here.slope;
    const Mask<Real> fits = (newton >= low) & (newton <= high) & (absolute(Real(newton - x)) <= 0.5 * last);
    const Real next = select(fits, newton, Real(0.5 * (low + high)));
    last = absolute(Real(next - x));
    x = select(open, next, x);
    open = open & !((fits & (last <= close)) | (high - low <= close));
  }
  return x;
}

}  // namespace

template <bool is_round>
CpcWall<is_round>::CpcWall(const CpcProfile& profile, double half_length_m)
    : profile_(profile), half_length_m_(half_length_m) {
  reach_m_ = std::hypot(profile.entrance_half_m(), half_length_m, profile.height_m());
  const auto a_metre_up = [&](double z) {
    const auto wall = profile_.at(z);
    return std::sqrt(1 + wall.slope * wall.slope) * (is_round ? 2 * pi * wall.radius : 4 * half_length_m_);
  };
  area_m2_ =
      boost::math::quadrature::gauss_kronrod<double, 31>::integrate(a_metre_up, 0, profile.height_m(), 15, 1e-13);
}

template <bool is_round>
AnyOutline CpcWall<is_round>::entrance() const {
  if constexpr (is_round) {
    return Ring{0, profile_.entrance_half_m(), {}};
  } else {
    return Rectangle{profile_.entrance_half_m(), half_length_m_, {}};
  }
}

template <bool is_round>
template <class Real>
Real CpcWall<is_round>::first_hit_m(const Vec3<Real>& p, const Vec3<Real>& d, const Mask<Real>& own) const {
  // Counted from the ray's point nearest the origin, so that a far start costs no digits; from the start itself where
  // that lies on the wall.
  const Real t0 = select(own, Real(0), -dot(p, d)), start = -t0;
  const Vec3<Real> o{multiply_add(t0, d.x, p.x), multiply_add(t0, d.y, p.y), multiply_add(t0, d.z, p.z)};
  Real low = larger(start, Real(-2 * reach_m_)), high(2 * reach_m_);
  // A ray along a strip makes infinities or NaN. Where either argument is NaN, larger() and smaller() return the
  // second.
  const auto clip = [&](const Real& at, const Real& pace, double from, double to) {
    const Real a = (from - at) / pace, b = (to - at) / pace;
    low = larger(smaller(a, b), low);
    high = smaller(larger(a, b), high);
  };
  clip(o.z, d.z, 0, profile_.height_m());
  if constexpr (!is_round) clip(o.y, d.y, -half_length_m_, half_length_m_);
  // Of a ray along y, a NaN across it would not be seen below; of a ray without length, none would.
  const Mask<Real> live = (low < high) & (dot(p, p) < infinity) & (dot(d, d) < infinity) & (dot(d, d) > 0);
  if (!any(live)) return Real(infinity);

  const Outside<is_round, Real> outside(profile_, o, d);
  using Station = typename Outside<is_round, Real>::Station;
  const double close = 0x1p-50 * reach_m_;
  const Station at_low = outside(low), at_high = outside(high);
  // From the wall itself the root at the start is taken out by dividing by the way from there; what rounding left of
  // the value there is taken off first.
  const Real left_over = select(own, outside(start).value, Real(0));
  const Mask<Real> starts_inside = (own & (at_low.slope < 0)) | ((!own) & (at_low.value <= 0));
  const Mask<Real> leaves = live & starts_inside & (at_high.value - left_over > 0);
  Real best(infinity);
  if (any(leaves)) {
    const auto chord = [&](const Real& s) -> Station {
      const Station here = outside(s);
      const Real gone = s - start, value = (here.value - left_over) / gone;
      return {select(own, value, here.value), select(own, Real((here.slope - value) / gone), here.slope)};
    };
    best = select(leaves, root_between(chord, low, high, leaves, close), best);
  }
  const Mask<Real> enters = live & !own & !starts_inside;
  if (any(enters)) best = select(enters, root_from_above(outside, low, high, enters, close), best);
  const Real t = best + t0;
  return select((t > 0) & (t < infinity), t, Real(infinity));
}

template <bool is_round>
template <class Real>
Vec3<Real> CpcWall<is_round>::normal(const Vec3<Real>& p) const {
  const auto wall = profile_.at(p.z);
  const Real scale = Real(1) / square_root(1 + wall.slope * wall.slope);
  if constexpr (is_round) {
    const Real inward = -scale / square_root(p.x * p.x + p.y * p.y);
    return {inward * p.x, inward * p.y, scale * wall.slope};
  } else {
    return {copy_sign(scale, Real(-p.x)), Real(0), scale * wall.slope};
  }
}

template <bool is_round>
template <class Real>
EntryPoint<Real> CpcWall<is_round>::entry(const Real& u, const Real& v) const {
  const Real across = is_round ? u : Real(2 * u - 1);  // a trough's two walls
  const Real z = profile_.height_m() * absolute(across);
  const auto wall = profile_.at(z);
  const Real a_metre_up = square_root(1 + wall.slope * wall.slope) * profile_.height_m();
  Vec3<Real> point;
  Real measure;
  if constexpr (is_round) {
    const auto angle = sine_cosine_of_turns(v);
    point = {wall.radius * angle.cosine, wall.radius * angle.sine, z};
    measure = 2 * pi * wall.radius * a_metre_up;
  } else {
    point = {copy_sign(wall.radius, across), (2 * v - 1) * half_length_m_, z};
    measure = 4 * half_length_m_ * a_metre_up;
  }
  return {point, normal(point), measure};
}

template <bool is_round>
Box CpcWall<is_round>::box(const AnyOutline&) const {
  const double hair = 1e-9 * reach_m_;
  const double x = profile_.entrance_half_m() + hair,
               y = (is_round ? profile_.entrance_half_m() : half_length_m_) + hair;
  return {{-x, -y, -hair}, {x, y, profile_.height_m() + hair}};
}

template <bool is_round>
Vec CpcWall<is_round>::vector_area_m2() const {
  // Of its rims: what enters above and does not leave below.
  const double top = profile_.entrance_half_m(), bottom = profile_.exit_half_m();
  return {0, 0, is_round ? pi * (top - bottom) * (top + bottom) : 4 * (top - bottom) * half_length_m_};
}

template <bool is_round>
std::string CpcWall<is_round>::words(const AnyOutline&) const {
  const CpcProfile& p = profile_;
  const bool whole = p.height_m() >= p.full_height_m();
  std::string out = fmt::format(
      "acceptance half-angle {}, exit {:.4g} m, entrance {:.4g} m, {:.4g} m high{}, entrance / exit area {:.4g}",
      degrees_words(p.half_angle_rad()), 2 * p.exit_half_m(), 2 * p.entrance_half_m(), p.height_m(),
      whole ? std::string() : fmt::format(" of {:.4g}", p.full_height_m()),
      std::pow(p.entrance_half_m() / p.exit_half_m(), is_round ? 2 : 1));
  if (!is_round) out += fmt::format(", {:.4g} m long", 2 * half_length_m_);
  return out;
}

template class CpcWall<true>;
template class CpcWall<false>;
template double Cpc::first_hit_m(const Vec3<double>&, const Vec3<double>&, const Mask<double>&) const;
template Pack Cpc::first_hit_m(const Vec3<Pack>&, const Vec3<Pack>&, const Mask<Pack>&) const;
template Vec3<double> Cpc::normal(const Vec3<double>&) const;
template Vec3<Pack> Cpc::normal(const Vec3<Pack>&) const;
template EntryPoint<double> Cpc::entry(const double&, const double&) const;
template EntryPoint<Pack> Cpc::entry(const Pack&, const Pack&) const;
template double CpcTrough::first_hit_m(const Vec3<double>&, const Vec3<double>&, const Mask<double>&) const;
template Pack CpcTrough::first_hit_m(const Vec3<Pack>&, const Vec3<Pack>&, const Mask<Pack>&) const;
template Vec3<double> CpcTrough::normal(const Vec3<double>&) const;
template Vec3<Pack> CpcTrough::normal(const Vec3<Pack>&) const;
template EntryPoint<double> CpcTrough::entry(const double&, const double&) const;
template EntryPoint<Pack> CpcTrough::entry(const Pack&, const Pack&) const;

}  // namespace catoptra
