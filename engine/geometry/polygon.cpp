// The polygon's corners are checked and cut into triangles once, when the scene is read.
#define BOOST_ALLOW_DEPRECATED_HEADERS  // Boost 1.74 warns about its own
#include <algorithm>
#include <boost/geometry/algorithms/intersects.hpp>
#include <boost/geometry/geometries/point_xy.hpp>
#include <boost/geometry/geometries/segment.hpp>
#include <cmath>
#include <numeric>
#include <stdexcept>
#include <string>

#include "geometry/flat_mesh.h"
#include "geometry/outline.h"

namespace catoptra {

namespace {

/// Twice the signed area of the triangle: positive where a, b, c turn left.
double turn(const Vec2& a, const Vec2& b, const Vec2& c) {
  return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
}

bool intersect(const Vec2& a, const Vec2& b, const Vec2& c, const Vec2& d) {
  using Point = boost::geometry::model::d2::point_xy<double>;
  using Segment = boost::geometry::model::segment<Point>;
  return boost::geometry::intersects(Segment({a.x, a.y}, {b.x, b.y}), Segment({c.x, c.y}, {d.x, d.y}));
}

std::vector<Vec2> without_repeats(std::vector<Vec2> corners) {
  corners.erase(std::unique(corners.begin(), corners.end()), corners.end());
  while (corners.size() > 1 && corners.front() == corners.back()) corners.pop_back();
  return corners;
}

void require_simple(const std::vector<Vec2>& corners) {
  const std::size_t n = corners.size();
  if (n < 3) throw std::invalid_argument("a polygon needs three different corners or more");
  for (std::size_t i = 0; i < n; ++i) {
    if (!std::isfinite(corners[i].x) || !std::isfinite(corners[i].y)) {
      throw std::invalid_argument("corner " + std::to_string(i + 1) + " of the polygon is not finite");
    }
  }
  for (std::size_t i = 0; i < n; ++i) {
    const Vec2 &a = corners[i], &b = corners[(i + 1) % n], &c = corners[(i + 2) % n];
    if (turn(a, b, c) == 0 && (b.x - a.x) * (c.x - b.x) + (b.y - a.y) * (c.y - b.y) < 0) {
      throw std::invalid_argument("the polygon turns back on itself at corner " + std::to_string((i + 1) % n + 1));
    }
    for (std::size_t j = i + 2; j < n; ++j) {
      if (i == 0 && j == n - 1) continue;  // neighbours share a corner
      if (intersect(a, b, corners[j], corners[(j + 1) % n])) {
        throw std::invalid_argument("edges " + std::to_string(i + 1) + " and " + std::to_string(j + 1) +
                                    " of the polygon touch or cross (edge 1 joins corners 1 and 2)");
      }
    }
  }
}

/// Whether the corner `at` of `left` (a list of corners that are still there, turning left) can be cut off.
bool is_ear(const std::vector<Vec2>& corners, const std::vector<std::size_t>& left, std::size_t at) {
  const std::size_t n = left.size();
  const Vec2 &a = corners[left[(at + n - 1) % n]], &b = corners[left[at]], &c = corners[left[(at + 1) % n]];
  if (turn(a, b, c) <= 0) return false;
  return std::ranges::none_of(left, [&](std::size_t other) {
    const Vec2& p = corners[other];
    if (p == a || p == b || p == c) return false;
    return turn(a, b, p) >= 0 && turn(b, c, p) >= 0 && turn(c, a, p) >= 0;
  });
}

/// Corners of the triangles into which a simple polygon that turns left falls. A simple polygon has two ears at least:
/// G. H. Meisters, Polygons have ears, Amer. Math. Monthly 82 (1975) 648.
std::vector<std::array<Vec2, 3>> cut_ears(const std::vector<Vec2>& corners) {
  std::vector<std::size_t> left(corners.size());
  std::iota(left.begin(), left.end(), std::size_t{0});
  std::vector<std::array<Vec2, 3>> triangles;
  const auto corner = [&](std::size_t at) { return corners[left[at % left.size()]]; };
  while (left.size() > 2) {
    const std::size_t n = left.size();
    std::size_t at = 0;
    while (at < n && turn(corner(at + n - 1), corner(at), corner(at + 1)) != 0) ++at;
    if (at == n) {  // no corner on a straight line, which would be dropped without a triangle
      at = 0;
      while (at < n && !is_ear(corners, left, at)) ++at;
      if (at == n) throw std::invalid_argument("the polygon is too thin to be cut into triangles");
      triangles.push_back({corner(at + n - 1), corner(at), corner(at + 1)});
    }
    left.erase(left.begin() + static_cast<std::ptrdiff_t>(at));
  }
  return triangles;
}

std::vector<Vec2> turning_left(std::vector<Vec2> corners, double twice_area) {
  if (twice_area < 0) std::ranges::reverse(corners);
  return corners;
}

double twice_area_of(const std::vector<Vec2>& corners) {
  double sum = 0;  // about the first corner, so that a far polygon loses no digits
  for (std::size_t i = 1; i + 1 < corners.size(); ++i) sum += turn(corners[0], corners[i], corners[i + 1]);
  return sum;
}

}  // namespace

Polygon::Polygon(std::vector<Vec2> corners_m) : corners_(without_repeats(std::move(corners_m))) {
  require_simple(corners_);
  const std::size_t n = corners_.size();
  const double twice_area = twice_area_of(corners_);
  if (twice_area == 0) throw std::invalid_argument("the polygon has no area");

  for (std::size_t i = 0; i < n; ++i) {
    Vec2 low = corners_[i], high = corners_[(i + 1) % n];
    if (low.y == high.y) continue;  // no line of constant y crosses it
    if (low.y > high.y) std::swap(low, high);
    edges_.push_back({low.y, high.y, low.x, (high.x - low.x) / (high.y - low.y)});
  }

  for (const auto& [a, b, c] : cut_ears(turning_left(corners_, twice_area))) {
    const double area = turn(a, b, c) / 2;
    triangles_.push_back({a, b, c, area_, area});  // areas now, shares below
    area_ += area;
  }
  for (Triangle& triangle : triangles_) {
    triangle.share_below /= area_;
    triangle.share /= area_;
  }
}

Point2<double> Polygon::sample_one(double u, double v) const {
  const auto above = std::upper_bound(triangles_.begin() + 1, triangles_.end(), u,
                                      [](double share, const Triangle& t) { return share < t.share_below; });
  const Triangle& t = *(above - 1);
  // Within the triangle the area grows as the square of the distance from its corner a.
  const double from_a = std::sqrt(std::clamp((u - t.share_below) / t.share, 0.0, 1.0));
  const double to_c = from_a * v, to_b = from_a - to_c;
  return {t.a.x + to_b * (t.b.x - t.a.x) + to_c * (t.c.x - t.a.x),
          t.a.y + to_b * (t.b.y - t.a.y) + to_c * (t.c.y - t.a.y)};
}

std::vector<std::array<Vec2, 3>> triangles_m(const Polygon& polygon) {
  const auto& corners = polygon.corners_m();
  return cut_ears(turning_left(corners, twice_area_of(corners)));
}

}  // namespace catoptra
