#include "geometry/torus.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

#include "geometry/ray.h"

namespace catoptra {

namespace {

/// The farthest from the planes of symmetry, and the nearest, that an outline reaches.
struct Reach {
  double near_x, near_y, far_x, far_y;

  explicit Reach(const AnyOutline& outline) {
    const Box2 b = box(outline);
    near_x = std::max({0.0, b.low.x, -b.high.x});
    near_y = std::max({0.0, b.low.y, -b.high.y});
    far_x = std::max(-b.low.x, b.high.x);
    far_y = std::max(-b.low.y, b.high.y);
  }
};

/// Left side of the equation along a ray o + t d, d of unit length; with `own` the value at t = 0 is taken off, so that
/// it is 0 there exactly.
template <class Real>
class AlongRay {
 public:
  AlongRay(const Torus& torus, const Vec3<Real>& o, const Vec3<Real>& d, const Mask<Real>& own)
      : cx_(torus.curvature_x_per_m), cy_(torus.curvature_y_per_m), oy_(o.y), dy_(d.y) {
    pace_ = 2 * (d.z - cx_ * dot(o, d));
    start_ = select(own, Real(0), 2 * o.z - cx_ * dot(o, o));
    start_ridge_ = select(own, ridge(oy_, root_at(oy_)), Real(0));
  }

  struct Station {
    Real value, slope;
  };
  Station operator()(const Real& t) const {
    const Real y = multiply_add(t, dy_, oy_), root = root_at(y);
    return {start_ + t * (pace_ - cx_ * t) - (ridge(y, root) - start_ridge_),
            pace_ - 2 * cx_ * t - 2 * (cy_ - cx_) * (y / root) * dy_};
  }
  /// 1 where the function bends upward at t, else -1.
  Real bend(const Real& t) const {
    const Real root = root_at(multiply_add(t, dy_, oy_));
    return select(-cx_ * (root * root * root) - (cy_ - cx_) * (dy_ * dy_) >= 0, Real(1), Real(-1));
  }

  /// The two places, in their order, where it turns from one bend to the other; low where there are none. The second
  /// derivative, -2 cx - 2 (cy - cx) dy^2 / root^3, is 0 where root^3 = (cx - cy) dy^2 / cx.
  std::pair<Real, Real> inflections(const Real& low, const Real& high) const {
    const Real cube = cx_ == 0 ? Real(-1) : (1 - cy_ / cx_) * (dy_ * dy_);
    const Mask<Real> some = (cube > 0) & (cube < 1);
    if (!any(some)) return {low, low};
    // Newton's way to the cube root comes down from 1 and never passes it.
    Real root(1);
    for (int round = 0; round < 60; ++round) {
      const Real next = (2 * root + cube / (root * root)) / 3;
      if (!any(some & (next < root))) break;
      root = select(some, next, root);
    }
    const Real y = square_root((1 - root) * (1 + root)) / std::fabs(cy_);
    const Real one = (-y - oy_) / dy_, other = (y - oy_) / dy_;
    const auto within = [&](const Real& t) { return select(some, smaller(larger(t, low), high), low); };
    return {within(smaller(one, other)), within(larger(one, other))};
  }

 private:
  // Kept off 0, where the circle turns back: there the slope has no bound.
  Real root_at(const Real& y) const { return square_root(larger(1 - cy_ * cy_ * y * y, Real(1e-14))); }
  Real ridge(const Real& y, const Real& root) const { return 2 * (cy_ - cx_) * y * y / (1 + root); }

  double cx_, cy_;
  Real oy_, dy_, pace_, start_, start_ridge_;
};

}  // namespace

/// Between two inflections the function is convex, or its negative is: Newton's steps from an end where it is above 0
/// come down to the nearest root and never pass it.
template <class Real>
Real Torus::first_hit_m(const Vec3<Real>& p, const Vec3<Real>& d, const Mask<Real>& own) const {
  const double cx = curvature_x_per_m, cy = curvature_y_per_m;
  const Real t0 = nearest_to_origin(p, d, own), start = -t0;
  const Vec3<Real> o = point_along(p, d, t0);
  // All of the surface lies within these; rays along a slab make infinities, or NaN, which the second argument takes
  // over.
  Real low = start, high(1e12);  // no scene is larger, and the function stays finite
  const auto clip = [&](const Real& at, const Real& pace, double from, double to) {
    const Real a = (from - at) / pace, b = (to - at) / pace;
    low = larger(smaller(a, b), low);
    high = smaller(larger(a, b), high);
  };
  if (cy != 0) clip(o.y, d.y, -1 / std::fabs(cy), 1 / std::fabs(cy));
  if (cx != 0) {
    const double reach_m = 1 / std::fabs(cx) + (cy != 0 ? 2 / std::fabs(cy) : 0);
    clip(o.x, d.x, -reach_m, reach_m);
    clip(o.z, d.z, cx > 0 ? -reach_m : 1 / cx, cx > 0 ? 1 / cx : reach_m);
  }
  const Mask<Real> live = (low < high) & (dot(p, p) < infinity) & (dot(d, d) < infinity) & (dot(d, d) > 0);
  if (!any(live)) return Real(infinity);

  const AlongRay<Real> f(*this, o, d, own);
  Real best(infinity);
  /// From `t` toward `end`, while the function, turned so that it is convex, falls.
  const auto descend = [&](Real t, const Real& end, const Real& bend, Mask<Real> open, double way) {
    const Real size = absolute(o.x) + absolute(o.y) + absolute(o.z);
    for (int round = 0; round < 200 && any(open); ++round) {
      const auto here = f(t);
      const Real step = here.value / here.slope, next = t - step;
      const Real close = 0x1p-52 * (absolute(t) + size);
      const Mask<Real> arrived = open & ((bend * here.value <= 0) | (absolute(step) <= close));
      const Real at = select(bend * here.value <= 0, t, next);
      const Vec3<Real> place = point_along(o, d, at);
      const Mask<Real> on_sheet = (1 - cx * place.z > 0) & (1 - cx * circle(place.y).height > 0);
      best = select(arrived & on_sheet & (at > start) & (at < best), at, best);
      const Mask<Real> falls = way * (bend * here.slope) < 0;
      open = open & !arrived & falls & (way * (end - next) >= -close);
      t = select(open, next, t);
    }
  };
  const auto search = [&](const Real& from, const Real& to) {
    const Mask<Real> wide = live & (from < to);
    if (!any(wide & (best == infinity))) return;
    const Real bend = f.bend(0.5 * (from + to));
    const auto first = f(from), last = f(to);
    // The root that a ray starts on is at `from`; there is another before `to` only where the function first falls.
    const Mask<Real> starts = own & (from == low);
    descend(from, to, bend, wide & !starts & (bend * first.value > 0), 1);
    descend(to, from, bend, wide & (bend * last.value > 0) & ((!starts) | (bend * first.slope < 0)), -1);
  };
  const auto [one, other] = f.inflections(low, high);
  search(low, one);
  search(one, other);
  search(other, high);
  return select(best < infinity, t0 + best, Real(infinity));
}

template double Torus::first_hit_m(const Vec&, const Vec&, const bool&) const;
template Pack Torus::first_hit_m(const Vec3<Pack>&, const Vec3<Pack>&, const Mask<Pack>&) const;

/// The height runs monotonically with |x| and with |y|.
Box Torus::box(const AnyOutline& outline) const {
  const Box2 flat = catoptra::box(outline);
  if (flat.low.x > flat.high.x) return {};
  const Reach reach(outline);
  Box out;
  for (const double x : {reach.near_x, reach.far_x}) {
    for (const double y : {reach.near_y, reach.far_y}) out.include({flat.low.x, flat.low.y, sag(x, y)});
  }
  out.include({flat.high.x, flat.high.y, out.high.z});
  const double hair = 1e-9 * std::max({reach.far_x, reach.far_y, -out.low.z, out.high.z});
  return {{out.low.x - hair, out.low.y - hair, out.low.z - hair},
          {out.high.x + hair, out.high.y + hair, out.high.z + hair}};
}

/// tan^2 = (e^2 + (k h')^2) / (k^2 - e^2) with e = cx x, k = 1 - cx h: grows with |e| and |h'|, falls with k.
double Torus::steepest_sine(const AnyOutline& outline) const {
  const Reach reach(outline);
  const double c = curvature_x_per_m, e = c * reach.far_x, slope = circle(reach.far_y).slope;
  const double k = 1 - std::fmax(c * circle(reach.near_y).height, c * circle(reach.far_y).height);
  if (!(k > std::fabs(e))) return infinity;
  const double tangent = std::sqrt((e * e + k * k * slope * slope) / ((k - e) * (k + e)));
  return tangent / std::sqrt(1 + tangent * tangent);
}

double Torus::extent_m(const AnyOutline& outline) const {
  return radius_span_m(outline).largest_m;
}

/// The torus turns back at |y| = Ry, and at |x| = |Rx - h(y)|.
double Torus::least_scale(const AnyOutline& outline) const {
  const Reach reach(outline);
  const auto reaches_across = [&](double factor) {
    const Torus larger = *scaled(factor);
    const double c = larger.curvature_x_per_m, y = larger.curvature_y_per_m * reach.far_y;
    if (!(y * y < 1)) return false;
    return 1 - std::fmax(0, c * larger.circle(reach.far_y).height) > std::fabs(c) * reach.far_x;
  };
  double low = 0, high = 1;
  while (!reaches_across(high) && high < 1e30) high *= 2;
  for (int round = 0; round < 200 && low < high; ++round) {
    const double middle = low + (high - low) / 2;
    if (middle == low || middle == high) break;
    (reaches_across(middle) ? high : low) = middle;
  }
  return high;
}

std::string Torus::words(const AnyOutline&) const {
  const auto way = [](double c, const char* axis) {
    return fmt::format("{}, radius of curvature {:.4g} m along {}", c > 0 ? "concave" : "convex", std::fabs(1 / c),
                       axis);
  };
  return way(curvature_x_per_m, "x") + "; " + way(curvature_y_per_m, "y");
}

}  // namespace catoptra
