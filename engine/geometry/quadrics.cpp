#include "geometry/quadrics.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

#include "geometry/words.h"

namespace catoptra {

namespace {

Box a_hair_larger(const Box& box) {
  double reach = 0;
  for (const Vec& corner : {box.low, box.high}) {
    for (const double x : {corner.x, corner.y, corner.z}) reach = std::max(reach, std::fabs(x));
  }
  const double hair = 1e-9 * reach;
  return {{box.low.x - hair, box.low.y - hair, box.low.z - hair},
          {box.high.x + hair, box.high.y + hair, box.high.z + hair}};
}

/// Bounds above `flat` of a surface whose sag runs monotonically from `near_axis` to `far_from_axis`.
Box above(const Box2& flat, double near_axis, double far_from_axis) {
  return a_hair_larger({{flat.low.x, flat.low.y, std::min(near_axis, far_from_axis)},
                        {flat.high.x, flat.high.y, std::max(near_axis, far_from_axis)}});
}

/// Distance from the axis, at most that of the equator, where a section with q > 0 turns back.
double up_to_equator(double r, double curvature_per_m, double q) {
  return q > 0 && curvature_per_m != 0 ? std::min(r, 1 / (std::fabs(curvature_per_m) * std::sqrt(q))) : r;
}

/// The conic's height at a distance r from its axis; at the equator rounding must not make a root negative.
double conic_sag(double c, double q, double r) {
  return c * r * r / (1 + std::sqrt(std::max(0.0, 1 - q * c * c * r * r)));
}

bool is_empty(const Box2& flat) {
  return flat.low.x > flat.high.x;
}

/// See Surface: at a distance from the axis along x, where the edge is steepest.
template <class S>
double steepest_sine_at(const S& s, double reach_m) {
  const double cosine = s.normal(Vec{reach_m, 0, s.sag(reach_m, 0.0)}).z;
  return std::sqrt(1 - cosine * cosine);  // NaN beyond an equator: no comparison holds
}

/// How far from the axis (a trough: from its plane of symmetry) the section goes before it turns back under itself.
double equator_m(double curvature_per_m, double q) {
  return q > 0 && curvature_per_m != 0 ? 1 / (std::fabs(curvature_per_m) * std::sqrt(q)) : infinity;
}
double least_scale_for(double extent_m, double curvature_per_m, double q) {
  const double equator = equator_m(curvature_per_m, q);
  return equator < infinity ? extent_m / equator : 0;
}

std::string side_words(double side) {
  return side > 0 ? "" : ", front inside";
}

}  // namespace

Box Plane::box(const AnyOutline& outline) const {
  const Box2 flat = catoptra::box(outline);
  return is_empty(flat) ? Box{} : above(flat, 0, 0);
}

Box Conic::box(const AnyOutline& outline) const {
  const Box2 flat = catoptra::box(outline);
  if (is_empty(flat)) return {};
  const RadiusSpan r = radius_span_m(outline);
  const auto height = [this](double radius) {
    return conic_sag(curvature_per_m, q, up_to_equator(radius, curvature_per_m, q));
  };
  return above(flat, height(r.smallest_m), height(r.largest_m));
}

Box Trough::box(const AnyOutline& outline) const {
  const Box2 flat = catoptra::box(outline);
  if (is_empty(flat)) return {};
  const auto height = [this](double x) { return conic_sag(curvature_per_m, q, up_to_equator(x, curvature_per_m, q)); };
  const double nearest = std::max({0.0, flat.low.x, -flat.high.x});
  const double farthest = std::max(std::fabs(flat.low.x), std::fabs(flat.high.x));
  return above(flat, height(nearest), height(farthest));
}

Box Cylinder::box(const AnyOutline&) const {
  return a_hair_larger({{-radius_m, -radius_m, -half_length_m}, {radius_m, radius_m, half_length_m}});
}

Box Cone::box(const AnyOutline&) const {
  const double r = middle_radius_m + std::fabs(growth) * half_height_m;
  return a_hair_larger({{-r, -r, -half_height_m}, {r, r, half_height_m}});
}

Box Ball::box(const AnyOutline&) const {
  return a_hair_larger({{-radius_m, -radius_m, -radius_m}, {radius_m, radius_m, radius_m}});
}

double Plane::steepest_sine(const AnyOutline&) const {
  return 0;
}
double Plane::extent_m(const AnyOutline& outline) const {
  return radius_span_m(outline).largest_m;
}
double Plane::least_scale(const AnyOutline&) const {
  return 0;
}
std::string Plane::words(const AnyOutline&) const {
  return "flat";
}

double Conic::steepest_sine(const AnyOutline& outline) const {
  return steepest_sine_at(*this, radius_span_m(outline).largest_m);
}
double Conic::extent_m(const AnyOutline& outline) const {
  return radius_span_m(outline).largest_m;
}
double Conic::least_scale(const AnyOutline& outline) const {
  return least_scale_for(extent_m(outline), curvature_per_m, q);
}
std::string Conic::words(const AnyOutline& outline) const {
  const double rim_m = extent_m(outline);
  return conic_words(curvature_per_m, q, rim_m, conic_sag(curvature_per_m, q, rim_m));
}

// The length of a trough has no part in its slope: it is steepest where the outline reaches farthest in x.
double Trough::steepest_sine(const AnyOutline& outline) const {
  return steepest_sine_at(*this, extent_m(outline));
}
double Trough::extent_m(const AnyOutline& outline) const {
  const Box2 bounds = catoptra::box(outline);
  return std::fmax(std::fabs(bounds.low.x), std::fabs(bounds.high.x));
}
double Trough::least_scale(const AnyOutline& outline) const {
  return least_scale_for(extent_m(outline), curvature_per_m, q);
}
std::string Trough::words(const AnyOutline& outline) const {
  const double rim_m = extent_m(outline);
  return conic_words(curvature_per_m, q, rim_m, conic_sag(curvature_per_m, q, rim_m));
}

std::optional<double> Cylinder::lit_area_m2(const Vec& v) const {
  if (side < 0) return std::nullopt;
  return 4 * radius_m * half_length_m * std::hypot(v.x, v.y);
}
std::string Cylinder::words(const AnyOutline&) const {
  return fmt::format("diameter {:.4g} m, length {:.4g} m{}", 2 * radius_m, 2 * half_length_m, side_words(side));
}

Vec Cone::vector_area_m2() const {
  // pi (top^2 - bottom^2), below 0 where the front looks down.
  return {0, 0, -side * 4 * pi * middle_radius_m * growth * half_height_m};
}
std::optional<double> Cone::lit_area_m2(const Vec& v) const {
  if (side < 0) return std::nullopt;
  // n dA = (cos, sin, -growth) r dangle dz: lit where across cos(angle) > growth v.z.
  const double across = std::hypot(v.x, v.y);
  const double wall_m2 = 2 * middle_radius_m * half_height_m, k = growth * v.z;
  if (k <= -across) return -2 * pi * k * wall_m2;
  if (k >= across) return 0;
  return 2 * wall_m2 * (std::sqrt((across - k) * (across + k)) - k * std::acos(k / across));
}
std::string Cone::words(const AnyOutline&) const {
  const double grows_m = growth * half_height_m;
  return fmt::format("diameter {:.4g} m below, {:.4g} m above, height {:.4g} m{}", 2 * (middle_radius_m - grows_m),
                     2 * (middle_radius_m + grows_m), 2 * half_height_m, side_words(side));
}

std::optional<double> Ball::lit_area_m2(const Vec& v) const {
  if (side < 0) return std::nullopt;
  return pi * radius_m * radius_m * std::hypot(std::hypot(v.x, v.y), v.z);
}
std::string Ball::words(const AnyOutline&) const {
  return fmt::format("diameter {:.4g} m{}", 2 * radius_m, side_words(side));
}

}  // namespace catoptra
