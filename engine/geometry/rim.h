#pragma once
// Rims of outlines, as straight stretches and arcs to integrate along.
#include <cmath>
#include <vector>

#include "geometry/outline.h"

namespace catoptra {

/// Counter-clockwise.
inline std::vector<Vec2> corners_m(const Rectangle& r) {
  const Vec2 c = r.center_m;
  const double w = r.half_width_m, l = r.half_length_m;
  return {{c.x - w, c.y - l}, {c.x + w, c.y - l}, {c.x + w, c.y + l}, {c.x - w, c.y + l}};
}

/// A stretch of an outline's rim, followed with the inside on its left where `sense` is 1 and on its right where -1.
struct RimEdge {
  Vec2 from, to;
  double sense;
};
struct RimArc {  // counter-clockwise, from_rad < to_rad
  Vec2 center_m;
  double radius_m, from_rad, to_rad;
  double sense;
};

/// The point at a stretch's parameter: from 0 to 1 on an edge, an angle on an arc; and the growth of y with it.
inline Vec2 at(const RimEdge& e, double t) {
  return {e.from.x + t * (e.to.x - e.from.x), e.from.y + t * (e.to.y - e.from.y)};
}
inline double climb(const RimEdge& e, double) {
  return e.to.y - e.from.y;
}
inline Vec2 at(const RimArc& a, double t) {
  return {a.center_m.x + a.radius_m * std::cos(t), a.center_m.y + a.radius_m * std::sin(t)};
}
inline double climb(const RimArc& a, double t) {
  return a.radius_m * std::cos(t);
}
/// The same along x.
inline double advance(const RimEdge& e, double) {
  return e.to.x - e.from.x;
}
inline double advance(const RimArc& a, double t) {
  return -a.radius_m * std::sin(t);
}

/// Visits an outline and lists its rim; of none, nothing.
struct Rim {
  std::vector<RimEdge> edges;
  std::vector<RimArc> arcs;

  void close(const std::vector<Vec2>& corners, double sense) {
    for (std::size_t i = 0; i < corners.size(); ++i) {
      edges.push_back({corners[i], corners[(i + 1) % corners.size()], sense});
    }
  }
  void arcs_of(const Ring& ring, double from_rad, double to_rad) {
    arcs.push_back({ring.center_m, ring.outer_radius_m, from_rad, to_rad, 1});
    if (ring.inner_radius_m > 0) arcs.push_back({ring.center_m, ring.inner_radius_m, from_rad, to_rad, -1});
  }

  void operator()(const Whole&) {}
  void operator()(const Ring& ring) { arcs_of(ring, 0, 2 * pi); }
  void operator()(const Sector& sector) {
    const Ring& ring = sector.ring();
    const double from = sector.from_rad(), to = from + sector.span_rad();
    arcs_of(ring, from, to);
    if (sector.span_rad() >= 2 * pi) return;  // no edges
    const auto on = [&](double radius_m, double angle) { return at(RimArc{ring.center_m, radius_m, 0, 0, 1}, angle); };
    edges.push_back({on(ring.inner_radius_m, from), on(ring.outer_radius_m, from), 1});
    edges.push_back({on(ring.outer_radius_m, to), on(ring.inner_radius_m, to), 1});
  }
  void operator()(const Rectangle& r) { close(corners_m(r), 1); }
  void operator()(const Polygon& polygon) {
    const auto& corners = polygon.corners_m();
    double twice_area = 0;  // about the first corner
    const Vec2& o = corners.front();
    for (std::size_t i = 1; i + 1 < corners.size(); ++i) {
      const Vec2 &a = corners[i], &b = corners[i + 1];
      twice_area += (a.x - o.x) * (b.y - o.y) - (a.y - o.y) * (b.x - o.x);
    }
    close(corners, twice_area > 0 ? 1 : -1);
  }
};

}  // namespace catoptra
