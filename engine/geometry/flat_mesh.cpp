#include "geometry/flat_mesh.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "geometry/rim.h"

namespace catoptra {

namespace {

int pieces(double span, double step) {
  return std::max(1, static_cast<int>(std::ceil(std::fabs(span) / step - 1e-9)));
}

/// Collects points; one that is there already, to the bit, is used again.
class Builder {
 public:
  std::int32_t point(const Vec2& p) {
    const auto [at, fresh] =
        index_.emplace(std::pair{p.x + 0.0, p.y + 0.0}, static_cast<std::int32_t>(mesh_.points_m.size()));
    if (fresh) mesh_.points_m.push_back(p);
    return at->second;
  }
  /// A convex polygon that turns left, as a fan.
  void add(const std::vector<Vec2>& corners) {
    for (std::size_t i = 1; i + 1 < corners.size(); ++i) {
      const std::array<std::int32_t, 3> t{point(corners[0]), point(corners[i]), point(corners[i + 1])};
      if (t[0] != t[1] && t[1] != t[2] && t[2] != t[0]) mesh_.triangles.push_back(t);
    }
  }
  FlatMesh take() { return std::move(mesh_); }

 private:
  FlatMesh mesh_;
  std::map<std::pair<double, double>, std::int32_t> index_;
};

using Corners = std::vector<Vec2>;

/// Where the edge from a to b meets the line. The same to the bit from b to a: neighbours then share the point.
Vec2 crossing(Vec2 a, Vec2 b, double Vec2::*axis, double line) {
  if (std::pair(b.x, b.y) < std::pair(a.x, a.y)) std::swap(a, b);
  const double t = (line - a.*axis) / (b.*axis - a.*axis);
  Vec2 at{a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)};
  at.*axis = line;
  return at;
}

/// The convex polygon's parts below and above the line.
std::pair<Corners, Corners> split(const Corners& polygon, double Vec2::*axis, double line) {
  std::pair<Corners, Corners> out;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Vec2 &a = polygon[i], &b = polygon[(i + 1) % polygon.size()];
    if (a.*axis <= line) out.first.push_back(a);
    if (a.*axis >= line) out.second.push_back(a);
    if ((a.*axis < line && b.*axis > line) || (a.*axis > line && b.*axis < line)) {
      const Vec2 p = crossing(a, b, axis, line);
      out.first.push_back(p);
      out.second.push_back(p);
    }
  }
  return out;
}

/// Cuts convex polygons at each line that enters them.
std::vector<Corners> cut(const std::vector<Corners>& polygons, double Vec2::*axis, const std::vector<double>& lines) {
  std::vector<Corners> out;
  for (Corners left : polygons) {
    const auto [low, high] = std::ranges::minmax(left, {}, axis);
    const double first = low.*axis, last = high.*axis;
    for (auto line = std::ranges::upper_bound(lines, first); line != lines.end() && *line < last; ++line) {
      auto [below, above] = split(left, axis, *line);
      out.push_back(std::move(below));
      left = std::move(above);
    }
    out.push_back(std::move(left));
  }
  return out;
}

/// The outline as convex polygons that turn left.
struct ConvexParts {
  const Bend& along_radius;
  double step_rad;

  std::vector<Corners> operator()(const Whole&) const { return {}; }
  std::vector<Corners> operator()(const Ring& ring) const { return round(ring, 0, 2 * pi); }
  std::vector<Corners> operator()(const Sector& s) const { return round(s.ring(), s.from_rad(), s.span_rad()); }
  std::vector<Corners> operator()(const Rectangle& r) const { return {corners_m(r)}; }
  std::vector<Corners> operator()(const Polygon& polygon) const {
    std::vector<Corners> out;
    for (const auto& t : triangles_m(polygon)) out.push_back({t.begin(), t.end()});
    return out;
  }

 private:
  std::vector<double> radii_m(const Ring& ring) const {
    const double inner = ring.inner_radius_m, outer = ring.outer_radius_m;
    const double off_axis_m = std::hypot(ring.center_m.x, ring.center_m.y);
    if (off_axis_m == 0) return divided({inner, outer}, along_radius, step_rad);
    const double turn_rad = along_radius.tilt_rad(off_axis_m + outer) -
                            along_radius.tilt_rad(off_axis_m > outer ? off_axis_m - outer : -outer);
    const int n = pieces(turn_rad, step_rad);
    std::vector<double> out;
    for (int i = 0; i <= n; ++i) out.push_back(inner + (outer - inner) * i / n);
    return out;
  }
  std::vector<Corners> round(const Ring& ring, double from_rad, double span_rad) const {
    const int around = pieces(span_rad, step_rad);
    const bool closed = span_rad >= 2 * pi;
    const auto at = [&](double radius_m, int k) -> Vec2 {
      const double angle = from_rad + span_rad * (closed ? k % around : k) / around;
      return {ring.center_m.x + radius_m * std::cos(angle), ring.center_m.y + radius_m * std::sin(angle)};
    };
    const auto radii = radii_m(ring);
    std::vector<Corners> out;
    for (std::size_t i = 1; i < radii.size(); ++i) {
      for (int k = 0; k < around; ++k) {
        Corners quad{at(radii[i - 1], k), at(radii[i], k), at(radii[i], k + 1)};
        if (radii[i - 1] > 0) quad.push_back(at(radii[i - 1], k + 1));
        out.push_back(std::move(quad));
      }
    }
    return out;
  }
};

}  // namespace

// c x / (1 - q c z) is the slope, and 1 - q c z = sqrt(1 - q c^2 x^2) on the sheet through the vertex.
double Bend::tilt_rad(double x_m) const {
  const double s = curvature_per_m * x_m;
  return std::atan2(s, std::sqrt(std::fmax(0, 1 - q * s * s)));
}

namespace {

/// Lines between a and b. Even in tilt alone they would lie far apart where the section is steep and straight, as a
/// deep paraboloid is, even in x alone where it is steep and bent, as a hemisphere is: so even in the sum of both
/// shares.
void divide(double a, double b, const Bend& bend, double step_rad, std::vector<double>& out) {
  const double from = bend.tilt_rad(a), turn = bend.tilt_rad(b) - from;
  const int n = pieces(2 * turn, step_rad);
  const auto progress = [&](double x) { return (bend.tilt_rad(x) - from) / turn + (x - a) / (b - a); };
  for (int k = 1; k < n; ++k) {
    double low = a, high = b;
    for (int halving = 0; halving < 60; ++halving) {
      const double x = (low + high) / 2;
      (progress(x) < 2.0 * k / n ? low : high) = x;
    }
    out.push_back((low + high) / 2);
  }
}

}  // namespace

std::vector<double> divided(const std::vector<double>& lines, const Bend& bend, double step_rad) {
  std::vector<double> out{lines.front()};
  for (std::size_t i = 1; i < lines.size(); ++i) {
    if (bend.curvature_per_m != 0) divide(lines[i - 1], lines[i], bend, step_rad, out);
    out.push_back(lines[i]);
  }
  return out;
}

FlatMesh flat_mesh(const AnyOutline& outline, const std::vector<double>& x_lines, const std::vector<double>& y_lines,
                   const Bend& along_radius, double step_rad) {
  const auto parts = std::visit(ConvexParts{along_radius, step_rad}, outline);
  Builder builder;
  for (const Corners& part : cut(cut(parts, &Vec2::x, x_lines), &Vec2::y, y_lines)) builder.add(part);
  return builder.take();
}

}  // namespace catoptra
