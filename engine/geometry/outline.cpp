#include "geometry/outline.h"

#include <algorithm>
#include <cmath>

#include "geometry/rim.h"

namespace catoptra {

namespace {

template <class... Cases>
struct Overloaded : Cases... {
  using Cases::operator()...;
};
template <class... Cases>
Overloaded(Cases...) -> Overloaded<Cases...>;  // clang 14 can't deduce it alone

Vec2 on_circle(const Vec2& center, double radius, double angle_rad) {
  return {center.x + radius * std::cos(angle_rad), center.y + radius * std::sin(angle_rad)};
}

void include(Box2& box, const Vec2& p) {
  box.low = {std::min(box.low.x, p.x), std::min(box.low.y, p.y)};
  box.high = {std::max(box.high.x, p.x), std::max(box.high.y, p.y)};
}

/// Distance from the origin to the segment from a to b.
double distance_to_segment(const Vec2& a, const Vec2& b) {
  const double dx = b.x - a.x, dy = b.y - a.y;
  const double t = std::clamp(-(a.x * dx + a.y * dy) / (dx * dx + dy * dy), 0.0, 1.0);
  return std::hypot(a.x + t * dx, a.y + t * dy);
}

/// Whether the polar angle lies in the sector.
bool spans(const Sector& sector, double angle_rad) {
  const double after = std::fmod(angle_rad - sector.from_rad(), 2 * pi);
  return (after < 0 ? after + 2 * pi : after) <= sector.span_rad();
}

/// The ends of the two straight edges: inner and outer of the first, inner and outer of the last.
std::array<Vec2, 4> corners(const Sector& sector) {
  const Ring& ring = sector.ring();
  const double first = sector.from_rad(), last = first + sector.span_rad();
  return {on_circle(ring.center_m, ring.inner_radius_m, first), on_circle(ring.center_m, ring.outer_radius_m, first),
          on_circle(ring.center_m, ring.inner_radius_m, last), on_circle(ring.center_m, ring.outer_radius_m, last)};
}

RadiusSpan ring_span(const Ring& ring) {
  const double away = std::hypot(ring.center_m.x, ring.center_m.y);
  return {std::max({0.0, away - ring.outer_radius_m, ring.inner_radius_m - away}), away + ring.outer_radius_m};
}

RadiusSpan sector_span(const Sector& sector) {
  const Ring& ring = sector.ring();
  RadiusSpan out{infinity, 0};
  const auto ends = corners(sector);
  for (const Vec2& corner : ends) out.largest_m = std::max(out.largest_m, std::hypot(corner.x, corner.y));
  for (const int edge : {0, 2})
    out.smallest_m = std::min(out.smallest_m, distance_to_segment(ends[edge], ends[edge + 1]));
  // The arcs' own nearest and farthest points lie on the line through the origin and the ring's centre.
  const double away = std::hypot(ring.center_m.x, ring.center_m.y);
  const double outward = std::atan2(ring.center_m.y, ring.center_m.x);
  if (away == 0 || spans(sector, outward)) out.largest_m = std::max(out.largest_m, away + ring.outer_radius_m);
  if (away == 0 || spans(sector, outward + pi)) {
    out.smallest_m =
        std::min({out.smallest_m, std::fabs(away - ring.outer_radius_m), std::fabs(away - ring.inner_radius_m)});
  }
  if (sector.contains(0.0, 0.0)) out.smallest_m = 0;
  return out;
}

RadiusSpan corners_span(const std::vector<Vec2>& corners_m, bool holds_origin) {
  RadiusSpan out{infinity, 0};
  for (std::size_t i = 0; i < corners_m.size(); ++i) {
    const Vec2 &a = corners_m[i], &b = corners_m[(i + 1) % corners_m.size()];
    out.largest_m = std::max(out.largest_m, std::hypot(a.x, a.y));
    out.smallest_m = std::min(out.smallest_m, distance_to_segment(a, b));
  }
  if (holds_origin) out.smallest_m = 0;
  return out;
}

}  // namespace

Sector::Sector(Ring ring, double from_rad, double span_rad)
    : ring_(ring),
      from_rad_(from_rad),
      span_rad_(span_rad),
      first_{std::cos(from_rad), std::sin(from_rad)},
      last_{std::cos(from_rad + span_rad), std::sin(from_rad + span_rad)} {
  if (span_rad >= 2 * pi) last_ = first_;  // a rounded full turn would leave a crack
}

std::vector<Vec2> regular_corners_m(int sides, double circumradius_m, Vec2 center_m, double from_rad) {
  std::vector<Vec2> out;
  for (int i = 0; i < sides; ++i) out.push_back(on_circle(center_m, circumradius_m, from_rad + 2 * pi * i / sides));
  return out;
}

double area_m2(const AnyOutline& outline) {
  return std::visit(Overloaded{[](const Whole&) { return 0.0; }, [](const auto& any) { return any.area_m2(); }},
                    outline);
}

Box2 box(const AnyOutline& outline) {
  const auto round = [](const auto& points) {
    Box2 out;
    for (const Vec2& p : points) include(out, p);
    return out;
  };
  return std::visit(Overloaded{[](const Ring& ring) {
                                 const double r = ring.outer_radius_m;
                                 const Vec2 c = ring.center_m;
                                 return Box2{{c.x - r, c.y - r}, {c.x + r, c.y + r}};
                               },
                               [&](const Sector& sector) {
                                 Box2 out = round(corners(sector));
                                 for (int quarter = 0; quarter < 4; ++quarter) {
                                   const double angle = quarter * pi / 2;
                                   if (!spans(sector, angle)) continue;
                                   include(out, on_circle(sector.ring().center_m, sector.ring().outer_radius_m, angle));
                                 }
                                 return out;
                               },
                               [&](const Rectangle& rectangle) { return round(corners_m(rectangle)); },
                               [&](const Polygon& polygon) { return round(polygon.corners_m()); },
                               [](const Whole&) { return Box2{}; }},
                    outline);
}

RadiusSpan radius_span_m(const AnyOutline& outline) {
  return std::visit(
      Overloaded{[](const Ring& ring) { return ring_span(ring); },
                 [](const Sector& sector) { return sector_span(sector); },
                 [](const Rectangle& r) { return corners_span(corners_m(r), r.contains(0.0, 0.0)); },
                 [](const Polygon& polygon) { return corners_span(polygon.corners_m(), polygon.contains(0.0, 0.0)); },
                 [](const Whole&) {
                   return RadiusSpan{0, 0};
                 }},
      outline);
}

}  // namespace catoptra
