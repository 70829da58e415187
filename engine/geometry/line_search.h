#pragma once
// Where a ray first meets a surface given by its distance from a focus. Written for lanes: every lane goes its own way
// under a mask, to the same bits as a double would alone. How and why: docs/theory/correctors.md.
#include "geometry/focal_profile.h"
#include "numeric/turn.h"

namespace catoptra {

template <class Real>
class LineSearch {
 public:
  /// Ray p + t d from the focus, d of unit length; `own`: p lies on the surface.
  LineSearch(const FocalProfile& profile, const Vec3<Real>& p, const Vec3<Real>& d, const Mask<Real>& own)
      : profile_(profile), d_(d), own_(own), start_(dot(p, d)) {
    nearest_ = {multiply_add(-start_, d.x, p.x), multiply_add(-start_, d.y, p.y), multiply_add(-start_, d.z, p.z)};
  }

  /// The smallest t > 0 on the surface for which accept(t); infinity where there is none.
  template <class Accept>
  Real operator()(const Accept& accept) {
    const double reach = profile_.largest_m();
    const Real passes2 = dot(nearest_, nearest_), room2 = reach * reach - passes2;
    const Real half = square_root(larger(room2, Real(0)));
    const Real from = larger(start_, -half);
    const Mask<Real> enters = (room2 > 0) & (from < half);  // false for NaN
    Real best(infinity);
    if (!any(enters)) return best;
    Station left = first_station(from);
    // A convex body makes a function that is convex along the ray: one step will do. Otherwise the ray, as seen from
    // the focus, is cut into even angles, and a step again where the function bends the other way.
    const bool convex = profile_.is_convex();
    const int steps = convex ? 1 : cuts;
    const Real passes = square_root(passes2);
    for (int k = 1; k <= steps; ++k) {
      const auto turn = sine_cosine_of_turns(0.5 * k / steps - 0.25);
      const Real to = k == steps ? half : larger(from, smaller(half, Real(turn.sine / turn.cosine * passes)));
      const Station right = station(to);
      const Mask<Real> onward = right.at > left.at;
      if (!convex) {
        const Mask<Real> turns = enters & (best == infinity) & onward & ((left.bend > 0) ^ (right.bend > 0));
        if (any(turns)) {
          const Station middle = chosen(turns, inflection(left, right), left);
          best = step(left, middle, turns & (middle.at > left.at), best, accept);
          left = middle;
        }
      }
      best = step(left, right, enters & (best == infinity) & onward, best, accept);
      left = chosen(onward, right, left);
    }
    return best;
  }

 private:
  static constexpr int cuts = 32;

  /// |w| / rho - 1 at a place along the ray, counted from its point nearest the focus, with its first and second
  /// derivative: below 0 inside. For a ray that starts on the surface it is 0 there, by a constant that takes off what
  /// rounding left.
  struct Station {
    Real at, value, slope, bend, cosine;
  };

  Station station(const Real& at) const {
    const Vec3<Real> w{multiply_add(at, d_.x, nearest_.x), multiply_add(at, d_.y, nearest_.y),
                       multiply_add(at, d_.z, nearest_.z)};
    const Real distance = square_root(dot(w, w));
    const Real per_m = 1 / larger(distance, Real(1e-150));
    const Real c = w.z * per_m, along = dot(w, d_) * per_m;
    const auto k = profile_.inverse(c);
    const Real swing = d_.z - c * along;
    return {at, distance * k.value - 1 - start_value_, along * k.value + k.slope * swing,
            ((1 - along * along) * (k.value - c * k.slope) + k.bend * (swing * swing)) * per_m, c};
  }

  /// Where the ray starts on the surface the slope tells the side on which it leaves.
  Station first_station(const Real& from) {
    Station here = station(from);
    start_value_ = select(own_, here.value, Real(0));
    here.value = select(own_, here.slope, here.value);
    return here;
  }

  /// The function and its slope; for a ray that starts on the surface divided by the distance from the start, which
  /// takes this root out.
  struct Deflated {
    Real value, slope;
  };
  Deflated deflated(const Station& here) const {
    const Real gone = here.at - start_, chord = here.value / gone;
    return {select(own_, select(gone > 0, chord, here.slope), here.value),
            select(own_, Real((here.slope - chord) / gone), here.slope)};
  }

  /// Between two places with bends of different sign: where it is none.
  Station inflection(const Station& left, const Station& right) const {
    Real low = left.at, high = right.at;
    const Mask<Real> high_hollow = right.bend > 0;
    for (int round = 0; round < 40; ++round) {
      const Real x = 0.5 * (low + high);
      const Mask<Real> like_high = !((station(x).bend > 0) ^ high_hollow);
      high = select(like_high, x, high);
      low = select(like_high, low, x);
    }
    return station(low);
  }

  template <class Accept>
  Real step(const Station& left, const Station& right, const Mask<Real>& live, Real best, const Accept& accept) const {
    const Mask<Real> left_out = left.value > 0, right_out = right.value > 0;
    const Mask<Real> changes = live & (left_out ^ right_out);
    // Both ends on one side, with a lowest point (or, inside, a highest) between them: the ray may dip through.
    const Real sign = select(left_out, Real(1), Real(-1));
    Mask<Real> dips = live & !(left_out ^ right_out) & (sign * left.slope < 0) & (sign * right.slope > 0);
    Station middle = right;
    if (any(dips)) dips = find_dip(left, right, sign, dips, middle);
    if (!any(changes | dips)) return best;
    const auto take = [&](const Station& a, const Station& b, const Mask<Real>& wanted) {
      const Real at = root(a, b, wanted), t = at - start_;
      best = select(wanted & (t > 0) & (station(at).cosine >= profile_.rim_cosine()) & accept(t), t, best);
    };
    take(left, middle, changes | dips);
    const Mask<Real> once_more = dips & (best == infinity);
    if (any(once_more)) take(middle, right, once_more);
    return best;
  }

  /// Looks for a point between the two at which the function has the other sign, and puts it into `middle`. Between the
  /// two tangents, where they meet, a convex function has its lower bound: above 0 there is no root.
  Mask<Real> find_dip(Station a, Station b, const Real& sign, const Mask<Real>& wanted, Station& middle) const {
    Mask<Real> open = wanted, found = wanted & !wanted;
    for (int round = 0; round < 60 && any(open); ++round) {
      const Real fall = sign * a.slope, rise = sign * b.slope;
      const Real width = b.at - a.at;
      const Real onward = (sign * (b.value - a.value) - rise * width) / (fall - rise);
      const Real bound = sign * a.value + fall * onward;
      open = open & (bound <= 0) & (onward > 0) & (onward < width);
      const Station here = station(a.at + onward);
      const Mask<Real> through = open & (sign * here.value <= 0);
      middle = chosen(through, here, middle);
      found = found | through;
      open = open & !through;
      const Mask<Real> falls = sign * here.slope < 0;
      a = chosen(falls, here, a);
      b = chosen(falls, b, here);
    }
    return found;
  }

  static Station chosen(const Mask<Real>& condition, const Station& yes, const Station& no) {
    return {select(condition, yes.at, no.at), select(condition, yes.value, no.value),
            select(condition, yes.slope, no.slope), select(condition, yes.bend, no.bend),
            select(condition, yes.cosine, no.cosine)};
  }

  /// The root between two places of different sign: Newton's steps, and halves where those leave the bracket or shrink
  /// too slowly (Press et al., Numerical Recipes, section 9.4).
  Real root(const Station& a, const Station& b, const Mask<Real>& wanted) const {
    const double reach = profile_.largest_m();
    Real low = a.at, high = b.at;
    const Mask<Real> high_out = b.value > 0;
    const Real at_low = deflated(a).value, at_high = deflated(b).value;
    Real x = low + (high - low) * (at_low / (at_low - at_high));
    x = smaller(larger(x, low), high);
    Real last = high - low;
    Mask<Real> open = wanted;
    for (int round = 0; round < 100 && any(open); ++round) {
      const Deflated here = deflated(station(x));
      const Mask<Real> like_high = !((here.value > 0) ^ high_out);
      high = select(open & like_high, x, high);
      low = select(open & !like_high, x, low);
      const Real newton = x - here.value / here.slope;
      const Mask<Real> fits =
          (newton >= low) & (newton <= high) & (absolute(Real(2 * here.value)) <= absolute(Real(last * here.slope)));
      const Real next = select(fits, newton, Real(0.5 * (low + high)));
      last = absolute(Real(next - x));
      x = select(open, next, x);
      // Newton's error is squared by each step; a bracket can't shrink below the rounding.
      open = open & !((fits & (last <= 1e-11 * reach)) | (high - low <= 0x1p-52 * reach));
    }
    return x;
  }

  const FocalProfile& profile_;
  Vec3<Real> d_, nearest_;
  Mask<Real> own_;
  Real start_, start_value_ = Real(0);
};

}  // namespace catoptra
