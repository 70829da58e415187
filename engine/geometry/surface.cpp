#include "geometry/surface.h"

#include <algorithm>
#include <cmath>

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

}  // namespace catoptra
