#pragma once
// Outlines: the part of a surface's projection along its axis that carries mirror. All lengths in metres.
//
// Three verbs for the tracer: contains(x, y) in lanes; sample(u, v), even over the area, that keeps neighbours in the
// unit square neighbours in the outline, as stratified points need; area_m2().
#include <array>
#include <variant>
#include <vector>

#include "numeric/lanes.h"
#include "numeric/turn.h"

namespace catoptra {

template <class Real>
struct Point2 {
  Real x, y;
};

/// Bounds in the plane of an outline, m.
struct Box2 {
  Vec2 low{infinity, infinity}, high{-infinity, -infinity};
};

/// Circle or annulus.
struct Ring {
  double inner_radius_m = 0, outer_radius_m = 1;
  Vec2 center_m;

  template <class Real>
  Mask<Real> contains(const Real& x, const Real& y) const {
    const Real dx = x - center_m.x, dy = y - center_m.y;
    const Real r2 = dx * dx + dy * dy;
    return (r2 <= outer_radius_m * outer_radius_m) & (r2 >= inner_radius_m * inner_radius_m);
  }
  template <class Real>
  Point2<Real> sample(const Real& u, const Real& v) const {
    return at(u, turns(v));
  }
  /// The sample's polar angle in full turns, and the point there with the share u of the area nearer to the centre.
  template <class Real>
  Real turns(const Real& v) const {
    return v;
  }
  template <class Real>
  Point2<Real> at(const Real& u, const Real& turns) const {
    const double inner2 = inner_radius_m * inner_radius_m;
    const Real r = square_root(inner2 + u * (outer_radius_m * outer_radius_m - inner2));
    const auto angle = sine_cosine_of_turns(turns);
    return {center_m.x + r * angle.cosine, center_m.y + r * angle.sine};
  }
  double area_m2() const { return pi * (outer_radius_m * outer_radius_m - inner_radius_m * inner_radius_m); }
};

/// Part of a ring between two polar angles, counted from x toward y.
class Sector {
 public:
  /// `from_rad` within a full turn either way, `span_rad` in (0, 2 pi].
  explicit Sector(Ring ring = {}, double from_rad = 0, double span_rad = pi);

  const Ring& ring() const { return ring_; }
  double from_rad() const { return from_rad_; }
  double span_rad() const { return span_rad_; }

  template <class Real>
  Mask<Real> contains(const Real& x, const Real& y) const {
    const Real dx = x - ring_.center_m.x, dy = y - ring_.center_m.y;
    const Mask<Real> after_first = first_.x * dy - first_.y * dx >= 0;
    const Mask<Real> before_last = last_.x * dy - last_.y * dx <= 0;
    // Two half planes: both for a span up to half a turn, either one for more.
    return ring_.contains(x, y) & (span_rad_ <= pi ? (after_first & before_last) : (after_first | before_last));
  }
  template <class Real>
  Point2<Real> sample(const Real& u, const Real& v) const {
    return ring_.at(u, turns(v));
  }
  template <class Real>
  Real turns(const Real& v) const {
    return from_rad_ / (2 * pi) + v * (span_rad_ / (2 * pi));
  }
  double area_m2() const { return ring_.area_m2() * span_rad_ / (2 * pi); }

 private:
  Ring ring_;
  double from_rad_, span_rad_;
  Vec2 first_, last_;  // unit vectors along the two straight edges, so that contains() needs no sine
};

/// Rectangle with sides along x and y.
struct Rectangle {
  double half_width_m = 1, half_length_m = 1;
  Vec2 center_m;

  template <class Real>
  Mask<Real> contains(const Real& x, const Real& y) const {
    return (absolute(x - center_m.x) <= half_width_m) & (absolute(y - center_m.y) <= half_length_m);
  }
  template <class Real>
  Point2<Real> sample(const Real& u, const Real& v) const {
    return {center_m.x + (2 * u - 1) * half_width_m, center_m.y + (2 * v - 1) * half_length_m};
  }
  double area_m2() const { return 4 * half_width_m * half_length_m; }
};

/// Simple polygon, convex or not. Built from its corners in either order.
class Polygon {
 public:
  /// Throws std::invalid_argument, which names the corner or edges (counted from 1), unless there are three corners or
  /// more, finite, with no two edges that touch. A corner that repeats the one before it is dropped, so a list may be
  /// closed or not.
  explicit Polygon(std::vector<Vec2> corners_m);

  const std::vector<Vec2>& corners_m() const { return corners_; }

  /// Even-odd rule. An edge owns its lower end, so a line through a corner is counted once; neighbours that share an
  /// edge compute it alike, so that a point on it belongs to exactly one of them.
  template <class Real>
  Mask<Real> contains(const Real& x, const Real& y) const {
    Mask<Real> inside = x > infinity;  // false, also for NaN, which passes no comparison below either
    for (const Edge& edge : edges_) {
      const Mask<Real> spans = (y >= edge.low_y) & (y < edge.high_y);
      inside = inside ^ (spans & (x < edge.low_x + edge.x_per_y * (y - edge.low_y)));
    }
    return inside;
  }
  template <class Real>
  Point2<Real> sample(const Real& u, const Real& v) const {
    if constexpr (std::is_same_v<Real, double>) {
      return sample_one(u, v);
    } else {
      alignas(64) std::array<double, lanes<Real>> us, vs;
      u.store_aligned(us.data());
      v.store_aligned(vs.data());
      for (std::size_t i = 0; i < lanes<Real>; ++i) {
        const auto at = sample_one(us[i], vs[i]);
        us[i] = at.x;
        vs[i] = at.y;
      }
      return {Real::load_aligned(us.data()), Real::load_aligned(vs.data())};
    }
  }
  double area_m2() const { return area_; }

 private:
  struct Edge {
    double low_y, high_y, low_x, x_per_y;  // low_x: x at the lower end
  };
  struct Triangle {
    Vec2 a, b, c;
    double share_below;  // of the polygon's area, in the triangles before this one
    double share;
  };
  Point2<double> sample_one(double u, double v) const;

  std::vector<Vec2> corners_;
  std::vector<Edge> edges_;
  std::vector<Triangle> triangles_;
  double area_ = 0;
};

/// No outline: a closed surface (tube, cone, ball) has bounds of its own.
struct Whole {
  template <class Real>
  Mask<Real> contains(const Real& x, const Real&) const {
    return x == x;
  }
};

using AnyOutline = std::variant<Ring, Sector, Rectangle, Polygon, Whole>;

/// Corners of a regular polygon round `center_m`; the first stands at `from_rad` from x toward y.
std::vector<Vec2> regular_corners_m(int sides, double circumradius_m, Vec2 center_m, double from_rad);

/// Area of the outline, m^2; 0 for Whole.
double area_m2(const AnyOutline& outline);
/// Bounds in the outline's plane; empty for Whole.
Box2 box(const AnyOutline& outline);
/// The smallest and the largest distance from the axis that the outline reaches.
struct RadiusSpan {
  double smallest_m, largest_m;
};
RadiusSpan radius_span_m(const AnyOutline& outline);

}  // namespace catoptra
