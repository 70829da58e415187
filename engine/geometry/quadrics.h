#pragma once
// Planes and quadrics, whose rays' hits are solved exactly. Each in its own frame, metres.
#include <optional>
#include <string>

#include "geometry/bend.h"
#include "geometry/frame.h"
#include "geometry/outline.h"
#include "geometry/ray.h"
#include "numeric/turn.h"

namespace catoptra {

struct Plane {
  static constexpr bool above_outline = true;

  template <class Real>
  Roots<Real> roots(const Vec3<Real>& p, const Vec3<Real>& d, const Mask<Real>& own) const {
    return {select(own, Real(infinity), -p.z / d.z), Real(infinity)};
  }
  template <class Real>
  Mask<Real> on_sheet(const Vec3<Real>& p) const {
    return p.z == p.z;
  }
  template <class Real>
  Vec3<Real> normal(const Vec3<Real>&) const {
    return {Real(0), Real(0), Real(1)};
  }
  template <class Real>
  Real sag(const Real&, const Real&) const {
    return Real(0);
  }
  Box box(const AnyOutline& outline) const;
  double steepest_sine(const AnyOutline& outline) const;
  double extent_m(const AnyOutline& outline) const;
  double least_scale(const AnyOutline& outline) const;
  double mean_curvature_per_m() const { return 0; }
  bool is_sampled_to_equator() const { return false; }
  Bends bends() const { return {}; }
  std::optional<Plane> scaled(double) const { return std::nullopt; }
  std::string words(const AnyOutline& outline) const;
};

/// Conic of revolution about z with its vertex at the origin, c (x^2 + y^2 + q z^2) = 2 z, q = 1 + k, c = 1/R;
/// k: conic constant, 0 sphere, -1 paraboloid, < -1 hyperboloid, > -1 ellipsoid. R > 0: the front (+z) is concave.
/// The ray's quadratic: Spencer and Murty, J. Opt. Soc. Am. 52 (1962) 672.
struct Conic {
  static constexpr bool above_outline = true;
  double curvature_per_m = 0;
  double q = 1;

  template <class Real>
  Quadratic<Real> quadratic(const Vec3<Real>& o, const Vec3<Real>& d) const {
    const double c = curvature_per_m;
    return {c * (d.x * d.x + d.y * d.y + q * d.z * d.z), c * (o.x * d.x + o.y * d.y + q * o.z * d.z) - d.z,
            c * (o.x * o.x + o.y * o.y + q * o.z * o.z) - 2 * o.z};
  }
  template <class Real>
  Mask<Real> on_sheet(const Vec3<Real>& p) const {  // the sheet through the vertex, up to its equator
    return 1 - q * curvature_per_m * p.z > 0;
  }
  template <class Real>
  Vec3<Real> normal(const Vec3<Real>& p) const {
    const double c = curvature_per_m;
    return unit(Vec3<Real>{-c * p.x, -c * p.y, 1 - q * c * p.z});
  }
  template <class Real>
  Real sag(const Real& x, const Real& y) const {
    const double c = curvature_per_m;
    const Real r2 = x * x + y * y;
    return c * r2 / (1 + square_root(1 - q * c * c * r2));
  }
  Box box(const AnyOutline& outline) const;
  double steepest_sine(const AnyOutline& outline) const;
  double extent_m(const AnyOutline& outline) const;
  double least_scale(const AnyOutline& outline) const;
  double mean_curvature_per_m() const { return curvature_per_m; }
  bool is_sampled_to_equator() const { return q == 1; }
  Bends bends() const { return {{curvature_per_m, q}, {curvature_per_m, q}, true}; }
  std::optional<Conic> scaled(double factor) const { return Conic{curvature_per_m / factor, q}; }
  std::string words(const AnyOutline& outline) const;
};

/// The Conic's section carried along y: c (x^2 + q z^2) = 2 z.
struct Trough {
  static constexpr bool above_outline = true;
  double curvature_per_m = 0;
  double q = 0;

  template <class Real>
  Quadratic<Real> quadratic(const Vec3<Real>& o, const Vec3<Real>& d) const {
    const double c = curvature_per_m;
    return {c * (d.x * d.x + q * d.z * d.z), c * (o.x * d.x + q * o.z * d.z) - d.z,
            c * (o.x * o.x + q * o.z * o.z) - 2 * o.z};
  }
  template <class Real>
  Mask<Real> on_sheet(const Vec3<Real>& p) const {
    return 1 - q * curvature_per_m * p.z > 0;
  }
  template <class Real>
  Vec3<Real> normal(const Vec3<Real>& p) const {
    const double c = curvature_per_m;
    return unit(Vec3<Real>{-c * p.x, Real(0), 1 - q * c * p.z});
  }
  template <class Real>
  Real sag(const Real& x, const Real&) const {
    const double c = curvature_per_m;
    return c * x * x / (1 + square_root(1 - q * c * c * x * x));
  }
  Box box(const AnyOutline& outline) const;
  double steepest_sine(const AnyOutline& outline) const;
  double extent_m(const AnyOutline& outline) const;
  double least_scale(const AnyOutline& outline) const;
  double mean_curvature_per_m() const { return curvature_per_m / 2; }
  bool is_sampled_to_equator() const { return q == 1; }
  Bends bends() const { return {{curvature_per_m, q}, {}, false}; }
  std::optional<Trough> scaled(double factor) const { return Trough{curvature_per_m / factor, q}; }
  std::string words(const AnyOutline& outline) const;
};

/// Circular tube about z, centred on the origin.
struct Cylinder {
  static constexpr bool above_outline = false;
  double radius_m = 1, half_length_m = 1;
  double side = 1;  // 1: the front is the outside, -1: the inside

  template <class Real>
  Quadratic<Real> quadratic(const Vec3<Real>& o, const Vec3<Real>& d) const {
    return {d.x * d.x + d.y * d.y, o.x * d.x + o.y * d.y, o.x * o.x + o.y * o.y - radius_m * radius_m};
  }
  template <class Real>
  Mask<Real> on_sheet(const Vec3<Real>& p) const {
    return absolute(p.z) <= half_length_m;
  }
  template <class Real>
  Vec3<Real> normal(const Vec3<Real>& p) const {
    return (Real(side) / square_root(p.x * p.x + p.y * p.y)) * Vec3<Real>{p.x, p.y, Real(0)};
  }
  template <class Real>
  Vec3<Real> point(const Real& u, const Real& v) const {
    const auto angle = sine_cosine_of_turns(u);
    return {radius_m * angle.cosine, radius_m * angle.sine, (2 * v - 1) * half_length_m};
  }
  double area_m2() const { return 4 * pi * radius_m * half_length_m; }
  double top_m() const { return half_length_m; }
  double radius_at_m(double) const { return radius_m; }
  double belt_m2(double span_rad, double low_m, double high_m) const { return span_rad * radius_m * (high_m - low_m); }
  Bend meridian() const { return {}; }
  Vec vector_area_m2() const { return {0, 0, 0}; }
  std::optional<double> lit_area_m2(const Vec& v) const;
  Box box(const AnyOutline&) const;
  std::optional<Cylinder> scaled(double) const { return std::nullopt; }
  std::string words(const AnyOutline&) const;
};

/// Frustum of a circular cone about z, centred half way up: radius r(z) = middle + growth z.
struct Cone {
  static constexpr bool above_outline = false;
  double middle_radius_m = 1, growth = 0, half_height_m = 1;
  double side = 1;  // 1: the front is the outside, -1: the inside

  template <class Real>
  Quadratic<Real> quadratic(const Vec3<Real>& o, const Vec3<Real>& d) const {
    const Real r = middle_radius_m + growth * o.z;
    const Real dr = growth * d.z;
    return {d.x * d.x + d.y * d.y - dr * dr, o.x * d.x + o.y * d.y - r * dr, o.x * o.x + o.y * o.y - r * r};
  }
  template <class Real>
  Mask<Real> on_sheet(const Vec3<Real>& p) const {  // r >= 0 leaves out the twin beyond the apex
    return (absolute(p.z) <= half_height_m) & (middle_radius_m + growth * p.z >= 0);
  }
  template <class Real>
  Vec3<Real> normal(const Vec3<Real>& p) const {
    const Real r = square_root(p.x * p.x + p.y * p.y);
    const Real scale = side / (r * std::sqrt(1 + growth * growth));
    // The apex has no normal; any ray may meet it, so it takes its neighbours' mean.
    return select(r > 0, Vec3<Real>{scale * p.x, scale * p.y, -growth * (scale * r)},
                  broadcast<Real>({0, 0, -side * std::copysign(1.0, growth)}));
  }
  /// The area grows as r^2 up the cone, so r^2 is even between the two rims; the height follows from
  /// (r - bottom)(r + bottom) = 4 middle growth half_height v without dividing by a growth that may be 0.
  template <class Real>
  Vec3<Real> point(const Real& u, const Real& v) const {
    const double bottom = middle_radius_m - growth * half_height_m, top = middle_radius_m + growth * half_height_m;
    const Real r = square_root(bottom * bottom + v * (top * top - bottom * bottom));
    const Real sum = larger(r + bottom, Real(std::numeric_limits<double>::min()));  // 0 at an apex below
    const auto angle = sine_cosine_of_turns(u);
    return {r * angle.cosine, r * angle.sine, 4 * middle_radius_m * half_height_m * v / sum - half_height_m};
  }
  double area_m2() const { return 4 * pi * middle_radius_m * half_height_m * std::sqrt(1 + growth * growth); }
  double top_m() const { return half_height_m; }
  double radius_at_m(double z) const { return std::fmax(0, middle_radius_m + growth * z); }
  double belt_m2(double span_rad, double low_m, double high_m) const {
    return span_rad * (middle_radius_m + growth * (low_m + high_m) / 2) * (high_m - low_m) *
           std::sqrt(1 + growth * growth);
  }
  Bend meridian() const { return {}; }
  Vec vector_area_m2() const;
  std::optional<double> lit_area_m2(const Vec& v) const;
  Box box(const AnyOutline&) const;
  std::optional<Cone> scaled(double) const { return std::nullopt; }
  std::string words(const AnyOutline&) const;
};

/// Whole sphere about the origin.
struct Ball {
  static constexpr bool above_outline = false;
  double radius_m = 1;
  double side = 1;  // 1: the front is the outside, -1: the inside

  template <class Real>
  Quadratic<Real> quadratic(const Vec3<Real>& o, const Vec3<Real>& d) const {
    return {dot(d, d), dot(o, d), dot(o, o) - radius_m * radius_m};
  }
  template <class Real>
  Mask<Real> on_sheet(const Vec3<Real>& p) const {
    return p.z == p.z;
  }
  template <class Real>
  Vec3<Real> normal(const Vec3<Real>& p) const {
    return Real(side) * unit(p);
  }
  template <class Real>
  Vec3<Real> point(const Real& u, const Real& v) const {
    // Even in z = 1 - 2 v (Archimedes); sqrt(1 - z^2) written so that nothing cancels at the poles.
    const Real r = 2 * radius_m * square_root(v * (1 - v));
    const auto angle = sine_cosine_of_turns(u);
    return {r * angle.cosine, r * angle.sine, radius_m * (1 - 2 * v)};
  }
  double area_m2() const { return 4 * pi * radius_m * radius_m; }
  double top_m() const { return radius_m; }
  double radius_at_m(double z) const { return std::sqrt(std::fmax(0, (radius_m - z) * (radius_m + z))); }
  double belt_m2(double span_rad, double low_m, double high_m) const {
    return span_rad * radius_m * (high_m - low_m);  // as Archimedes found
  }
  Bend meridian() const { return {1 / radius_m, 1}; }  // along the axis a circle's tilt to the equator is the latitude
  Vec vector_area_m2() const { return {0, 0, 0}; }
  std::optional<double> lit_area_m2(const Vec& v) const;
  Box box(const AnyOutline&) const;
  std::optional<Ball> scaled(double) const { return std::nullopt; }
  std::string words(const AnyOutline&) const;
};

}  // namespace catoptra
