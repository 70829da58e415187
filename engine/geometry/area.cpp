#include "geometry/area.h"

#include <algorithm>
#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <cmath>

namespace catoptra {

namespace {

/// Integral of f from a to b, either way round.
template <class F>
double integral(const F& f, double a, double b) {
  if (a == b) return 0;
  if (a > b) return -integral(f, b, a);
  return boost::math::quadrature::gauss_kronrod<double, 15>::integrate(f, a, b, 12, 1e-11);
}

/// Area a metre of y of a conic with an equator (q > 0), above the line from (from, y) to (to, y):
/// dA = sqrt((1 + (1 - q) c^2 r^2) / (1 - q c^2 r^2)) dx dy. With sqrt(q) c x = sqrt(1 - q c^2 y^2) sin a no root is
/// left that may be 0, as the denominator is on the equator.
double above_line_of_round(double c, double q, double from, double to, double y) {
  const double k = std::sqrt(q) * std::fabs(c), row = 1 - k * k * y * y;
  const auto angle = [&](double x) { return std::atan2(k * x, std::sqrt(std::fmax(0, row - k * k * x * x))); };
  const double constant = 1 + (1 - q) * c * c * y * y, share = (1 - q) / q * row;
  const auto slant = [&](double a) { return std::sqrt(constant + share * std::sin(a) * std::sin(a)); };
  return (q == 1 ? angle(to) - angle(from) : integral(slant, angle(from), angle(to))) / k;
}

/// Area a metre of y of the surface above the line from (from, y) to (to, y).
template <class Surface>
double above_line(const Surface& surface, double from, double to, double y) {
  if constexpr (std::is_same_v<Surface, Plane>) {
    return to - from;
  } else {
    if constexpr (std::is_same_v<Surface, Conic> || std::is_same_v<Surface, Trough>) {
      const double c = surface.curvature_per_m, row = std::is_same_v<Surface, Trough> ? 0 : y;
      if (c != 0 && surface.q > 0) return above_line_of_round(c, surface.q, from, to, row);
    }
    return integral([&](double x) { return 1 / surface.normal(Vec{x, y, surface.sag(x, y)}).z; }, from, to);
  }
}

Vec2 at(const RimEdge& e, double t) {
  return {e.from.x + t * (e.to.x - e.from.x), e.from.y + t * (e.to.y - e.from.y)};
}
double climb(const RimEdge& e, double) {
  return e.to.y - e.from.y;
}
Vec2 at(const RimArc& a, double t) {
  return {a.center_m.x + a.radius_m * std::cos(t), a.center_m.y + a.radius_m * std::sin(t)};
}
double climb(const RimArc& a, double t) {
  return a.radius_m * std::cos(t);
}

/// Where a stretch begins, ends, and may enter or leave the rectangle's rows and columns.
std::vector<double> cuts(const RimEdge& e, const Box2& box) {
  std::vector<double> out{0, 1};
  const auto add = [&](double t) {
    if (t > 0 && t < 1) out.push_back(t);  // not where the edge runs along: NaN or infinite
  };
  for (const double x : {box.low.x, box.high.x}) add((x - e.from.x) / (e.to.x - e.from.x));
  for (const double y : {box.low.y, box.high.y}) add((y - e.from.y) / (e.to.y - e.from.y));
  std::ranges::sort(out);
  return out;
}
std::vector<double> cuts(const RimArc& a, const Box2& box) {
  std::vector<double> out{a.from_rad, a.to_rad};
  const auto add = [&](double t) {
    t += 2 * pi * std::ceil((a.from_rad - t) / (2 * pi));
    if (t > a.from_rad && t < a.to_rad) out.push_back(t);  // not where the line misses the circle: NaN
  };
  // A line that touches the circle may miss it by rounding; the quarter points stand for its root.
  for (int quarter = 0; quarter < 4; ++quarter) add(quarter * pi / 2);
  for (const double x : {box.low.x, box.high.x}) {
    const double t = std::acos((x - a.center_m.x) / a.radius_m);
    add(t), add(-t);
  }
  for (const double y : {box.low.y, box.high.y}) {
    const double t = std::asin((y - a.center_m.y) / a.radius_m);
    add(t), add(pi - t);
  }
  std::ranges::sort(out);
  return out;
}

/// visit(stretch, begin, end, middle) for the parts of the rim in the rectangle's rows, each all to the left of it, in
/// it, or to the right.
template <class Stretch, class Visit>
void for_each_part(const std::vector<Stretch>& rim, const Box2& box, const Visit& visit) {
  for (const Stretch& stretch : rim) {
    const auto ends = cuts(stretch, box);
    for (std::size_t i = 1; i < ends.size(); ++i) {
      const Vec2 middle = at(stretch, (ends[i - 1] + ends[i]) / 2);
      if (middle.y > box.low.y && middle.y < box.high.y) visit(stretch, ends[i - 1], ends[i], middle);
    }
  }
}

template <class Stretch>
bool enters(const std::vector<Stretch>& rim, const Box2& box) {
  bool found = false;
  for_each_part(rim, box, [&](const Stretch&, double, double, const Vec2& middle) {
    found = found || (middle.x > box.low.x && middle.x < box.high.x);
  });
  return found;
}

/// The rim's share in the closed integral of (area a metre of y, from x = `from` to the rim) dy.
template <class Surface, class Stretch>
double along(const Surface& surface, const std::vector<Stretch>& rim, const Box2& box, double from) {
  double sum = 0;
  for_each_part(rim, box, [&](const Stretch& stretch, double begin, double end, const Vec2& middle) {
    if (middle.x > box.low.x && middle.x < box.high.x) {
      sum += stretch.sense * integral(
                                 [&](double t) {
                                   const Vec2 p = at(stretch, t);
                                   return above_line(surface, from, p.x, p.y) * climb(stretch, t);
                                 },
                                 begin, end);
    } else {
      const double side = middle.x <= box.low.x ? box.low.x : box.high.x;
      sum += stretch.sense * integral([&](double y) { return above_line(surface, from, side, y); },
                                      at(stretch, begin).y, at(stretch, end).y);
    }
  });
  return sum;
}

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
  void operator()(const Rectangle& r) {
    const Vec2 c = r.center_m;
    const double w = r.half_width_m, l = r.half_length_m;
    close({{c.x - w, c.y - l}, {c.x + w, c.y - l}, {c.x + w, c.y + l}, {c.x - w, c.y + l}}, 1);
  }
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

}  // namespace

AreaAbove::AreaAbove(const AnySurface& surface, const AnyOutline& outline) : surface_(surface), outline_(outline) {
  Rim rim;
  std::visit(rim, outline_);
  edges_ = std::move(rim.edges);
  arcs_ = std::move(rim.arcs);
}

double AreaAbove::within_m2(const Box2& box) const {
  return std::visit(
      [&](const auto& surface, const auto& outline) -> double {
        using Surface = std::decay_t<decltype(surface)>;
        const double flat_m2 = (box.high.x - box.low.x) * (box.high.y - box.low.y);
        if constexpr (!Surface::above_outline || std::is_same_v<std::decay_t<decltype(outline)>, Whole>) {
          return 0;
        } else if (enters(edges_, box) || enters(arcs_, box)) {
          // Counted from where the rectangle is nearest to the axis, so that no line leaves the surface.
          const double from = std::clamp(0.0, box.low.x, box.high.x);
          const double area_m2 = along(surface, edges_, box, from) + along(surface, arcs_, box, from);
          return area_m2 > 1e-12 * flat_m2 ? area_m2 : 0;
        } else {
          if (!outline.contains((box.low.x + box.high.x) / 2, (box.low.y + box.high.y) / 2)) return 0;
          if constexpr (std::is_same_v<Surface, Plane>) return flat_m2;
          return integral([&](double y) { return above_line(surface, box.low.x, box.high.x, y); }, box.low.y,
                          box.high.y);
        }
      },
      surface_, outline_);
}

double front_area_m2(const AnySurface& surface, const AnyOutline& outline) {
  return std::visit(
      [&](const auto& s) -> double {
        if constexpr (std::decay_t<decltype(s)>::above_outline) {
          return AreaAbove(s, outline).within_m2(box(outline));
        } else {
          return s.area_m2();
        }
      },
      surface);
}

double aperture_area_m2(const AnySurface& surface, const AnyOutline& outline) {
  if (const auto* cone = std::get_if<Cone>(&surface)) {
    // pi (top^2 - bottom^2), seen from above on its inside where it opens upward, on its outside where it narrows.
    return std::fmax(0, -cone->side * 4 * pi * cone->middle_radius_m * cone->growth * cone->half_height_m);
  }
  return std::visit(
      [&](const auto& s) -> double {
        if constexpr (has_entrance<std::decay_t<decltype(s)>>) {
          return area_m2(s.entrance());
        } else {
          return area_m2(outline);
        }
      },
      surface);
}

}  // namespace catoptra
