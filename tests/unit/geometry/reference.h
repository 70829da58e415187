#pragma once
// An independent answer to "where does this ray meet this surface", in 100 decimal digits. Nothing is shared with the
// engine but the surfaces' defining equations: the ray's quadratic comes from three values of the implicit function.
#include <algorithm>
#include <boost/multiprecision/cpp_bin_float.hpp>
#include <optional>

#include "geometry/surface.h"

namespace catoptra::reference {

using Big = boost::multiprecision::number<boost::multiprecision::cpp_bin_float<100>, boost::multiprecision::et_off>;

struct BigVec {
  Big x, y, z;
};
inline BigVec big(const Vec& v) {
  return {v.x, v.y, v.z};
}
inline BigVec along(const BigVec& p, const BigVec& d, const Big& t) {
  return {p.x + t * d.x, p.y + t * d.y, p.z + t * d.z};
}

// The defining equations, F(p) = 0.
inline Big implicit(const Plane&, const BigVec& p) {
  return p.z;
}
inline Big implicit(const Conic& s, const BigVec& p) {
  return Big(s.curvature_per_m) * (p.x * p.x + p.y * p.y + Big(s.q) * p.z * p.z) - 2 * p.z;
}
inline Big implicit(const Trough& s, const BigVec& p) {
  return Big(s.curvature_per_m) * (p.x * p.x + Big(s.q) * p.z * p.z) - 2 * p.z;
}
inline Big implicit(const Cylinder& s, const BigVec& p) {
  return p.x * p.x + p.y * p.y - Big(s.radius_m) * s.radius_m;
}
inline Big implicit(const Cone& s, const BigVec& p) {
  const Big r = Big(s.middle_radius_m) + Big(s.growth) * p.z;
  return p.x * p.x + p.y * p.y - r * r;
}
inline Big implicit(const Ball& s, const BigVec& p) {
  return p.x * p.x + p.y * p.y + p.z * p.z - Big(s.radius_m) * s.radius_m;
}

/// How far inside the part of the quadric that is the surface a point of it lies: negative outside, metres.
inline Big inside_sheet(const Plane&, const BigVec&) {
  return 1;
}
template <class Sag>
Big inside_sag(const Sag& s, const Big& r2, const Big& z) {
  // Of the two heights at this distance from the axis, the vertex's sheet has the one whose root is added.
  const Big c = s.curvature_per_m, inner = 1 - Big(s.q) * c * c * r2;
  if (c == 0) return 1;
  const Big root = inner > 0 ? Big(sqrt(inner)) : Big(0);
  const Big near_vertex = c * r2 / (1 + root);
  if (root == 1) return abs(z) < 1 / abs(c) ? Big(1) : Big(-1);  // a paraboloid has one sheet; else the axis itself
  const Big other = c * r2 / (1 - root);
  return abs(z - other) - abs(z - near_vertex);
}
inline Big inside_sheet(const Conic& s, const BigVec& p) {
  return s.q == 0 ? Big(1) : inside_sag(s, p.x * p.x + p.y * p.y, p.z);
}
inline Big inside_sheet(const Trough& s, const BigVec& p) {
  return s.q == 0 ? Big(1) : inside_sag(s, p.x * p.x, p.z);
}
inline Big inside_sheet(const Cylinder& s, const BigVec& p) {
  return Big(s.half_length_m) - abs(p.z);
}
inline Big inside_sheet(const Cone& s, const BigVec& p) {
  return std::min(Big(Big(s.half_height_m) - abs(p.z)), Big(Big(s.middle_radius_m) + Big(s.growth) * p.z));
}
inline Big inside_sheet(const Ball&, const BigVec&) {
  return 1;
}

inline Big inside_outline(const Whole&, const BigVec&) {
  return 1;
}
inline Big inside_outline(const Ring& ring, const BigVec& p) {
  const Big dx = p.x - ring.center_m.x, dy = p.y - ring.center_m.y, r = sqrt(dx * dx + dy * dy);
  const Big outer = ring.outer_radius_m - r;
  return ring.inner_radius_m > 0 ? std::min(outer, Big(r - ring.inner_radius_m)) : outer;
}
inline Big inside_outline(const Rectangle& r, const BigVec& p) {
  return std::min(Big(r.half_width_m - abs(p.x - r.center_m.x)), Big(r.half_length_m - abs(p.y - r.center_m.y)));
}

struct Hit {
  std::optional<Big> t;      // the first hit ahead
  double cos_incidence = 1;  // there, or at a near miss
  bool doubtful = false;     // so near an edge, a tangent or the start that rounding may decide either way
};

/// The first hit ahead of `p` at which the point is inside `outline`; with `own` the root nearest 0 is no hit.
template <class Surface, class Outline>
Hit first_hit(const Surface& surface, const Outline& outline, const Vec& p, const Vec& d, bool own, double size_m) {
  const BigVec o = big(p), dir = big(d);
  const Big doubt = 1e-11 * size_m + 1e-15 * length(p);
  const auto f = [&](const Big& t) { return implicit(surface, along(o, dir, t)); };
  const Big f0 = f(0), fp = f(1), fm = f(-1);  // F is quadratic: three values fix it
  const Big a = (fp + fm) / 2 - f0, b = (fp - fm) / 2, c = f0;
  Hit hit;
  std::vector<Big> roots;
  if (a == 0) {
    if (b != 0) roots = {-c / b};
  } else {
    const Big inner = b * b - 4 * a * c;
    if (inner >= 0) roots = {(-b - sqrt(inner)) / (2 * a), (-b + sqrt(inner)) / (2 * a)};
    // A miss by less than a hair may be a hit after rounding, and the reverse: the depth is F at its extremum over
    // |F'|.
    const BigVec at = along(o, dir, -b / (2 * a));
    const Big slope = [&] {  // |grad F|, exact for a quadratic
      const auto g = [&](const BigVec& e) {
        return Big((implicit(surface, along(at, e, 1)) - implicit(surface, along(at, e, -1))) / 2);
      };
      const Big gx = g({1, 0, 0}), gy = g({0, 1, 0}), gz = g({0, 0, 1});
      return Big(sqrt(gx * gx + gy * gy + gz * gz));
    }();
    if (abs(inner / (4 * a)) < doubt / 10 * slope && !own) hit.doubtful = true;
  }
  if (own && !roots.empty()) {
    roots.erase(std::ranges::min_element(roots, {}, [](const Big& t) { return Big(abs(t)); }));
  }
  std::ranges::sort(roots);
  for (const Big& t : roots) {
    const BigVec at = along(o, dir, t);
    const Big inside = std::min(inside_sheet(surface, at), inside_outline(outline, at));
    if (abs(t) < doubt && !own) hit.doubtful = true;
    if (t <= 0) continue;
    if (abs(inside) < doubt) hit.doubtful = true;
    if (inside < 0) continue;
    const auto g = [&](const BigVec& e) {
      return Big((implicit(surface, along(at, e, 1)) - implicit(surface, along(at, e, -1))) / 2);
    };
    const Big gx = g({1, 0, 0}), gy = g({0, 1, 0}), gz = g({0, 0, 1});
    const Big across = abs(gx * dir.x + gy * dir.y + gz * dir.z) / sqrt(gx * gx + gy * gy + gz * gz);
    hit.t = t;
    hit.cos_incidence = static_cast<double>(across);
    break;
  }
  return hit;
}

}  // namespace catoptra::reference
