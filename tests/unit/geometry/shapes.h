#pragma once
// The surfaces that the tests of this room go through: every kind, compact and slender, near the axis and off it.
#include <algorithm>

#include "unit/geometry/rays.h"

namespace catoptra {

/// Calls visit(name, surface, outline, side, k): a direction along the surface, and the header's error factor for it.
template <class Visit>
void for_each_shape(const Visit& visit) {
  const Ring disc{0, 1.5, {}};
  const Whole whole;
  const Vec z{0, 0, 1}, y{0, 1, 0};
  visit("plane", Plane{}, Rectangle{2, 3, {1, 0}}, Vec{1, 0, 0}, 8.0);
  visit("conic without curvature", Conic{0, 1}, disc, z, 8.0);
  visit("shallow sphere", Conic{1 / 20.0, 1}, Ring{0, 10, {}}, z, 8.0);
  visit("hemisphere, convex", Conic{-1 / 1.5, 1}, disc, z, 8.0);
  visit("paraboloid with a hole", Conic{1 / 3.0, 0}, Ring{0.3, 1.5, {}}, z, 8.0);
  visit("deep paraboloid", Conic{1, 0}, Ring{0, 10, {}}, z, 8.0);
  visit("off-axis paraboloid", Conic{1 / 3.0, 0}, Ring{0, 1, {4, 0}}, z, 8.0);
  visit("hyperboloid", Conic{1 / 3.0, -0.8}, disc, unit(Vec{std::sqrt(0.8), 0, 1}), 8.0);
  visit("hyperboloid, convex", Conic{-1 / 3.0, -0.8}, disc, unit(Vec{std::sqrt(0.8), 0, -1}), 8.0);
  visit("prolate ellipsoid", Conic{1 / 3.0, 0.5}, disc, z, 8.0);
  visit("oblate ellipsoid", Conic{1 / 3.0, 2.5}, disc, z, 8.0);
  visit("heliostat", Conic{1 / 1000.0, 1}, Rectangle{5, 5, {}}, z, 8.0);
  visit("parabolic trough", Trough{1 / 3.0, 0}, Rectangle{2.5, 6, {}}, y, 8.0);
  visit("circular trough", Trough{1 / 3.0, 1}, Rectangle{2.9, 6, {}}, y, 8.0);
  visit("hyperbolic trough, convex", Trough{-1 / 3.0, -1.5}, Rectangle{2.9, 6, {}}, y, 8.0);
  visit("cylinder", Cylinder{0.4, 0.75, 1}, whole, z, 8.0);
  visit("thin tube", Cylinder{0.035, 6, -1}, whole, z, 128.0);
  visit("frustum", Cone{1, 0.5, 1, -1}, whole, unit(Vec{0.5, 0, 1}), 8.0);
  visit("cone with its apex", Cone{1, -1, 1, 1}, whole, unit(Vec{-1, 0, 1}), 128.0);
  visit("cone that is nearly a tube", Cone{1, 1e-9, 1, 1}, whole, unit(Vec{1e-9, 0, 1}), 8.0);
  visit("cone that is nearly flat", Cone{1, 100, 0.01, 1}, whole, unit(Vec{100, 0, 1}), 128.0);
  visit("ball", Ball{2, 1}, whole, z, 8.0);
}

/// hit_distance_m of each ray, as a double or in lanes.
template <class Real, class Surface, class Outline>
std::vector<double> distances_m(const Surface& surface, const Outline& outline, const std::vector<Ray>& rays) {
  std::vector<double> out;
  for (std::size_t first = 0; first < rays.size(); first += lanes<Real>) {
    std::array<std::array<double, lanes<Real>>, 8> lane{};
    const std::size_t count = std::min(lanes<Real>, rays.size() - first);
    for (std::size_t i = 0; i < count; ++i) {
      const auto& [p, d, own] = rays[first + i];
      const std::array numbers{p.x, p.y, p.z, d.x, d.y, d.z, own ? 1.0 : 0.0};
      for (std::size_t k = 0; k < numbers.size(); ++k) lane[k][i] = numbers[k];
    }
    const auto at = [&](std::size_t k) { return load<Real>(lane[k].data()); };
    store(
        hit_distance_m(surface, outline, Vec3<Real>{at(0), at(1), at(2)}, Vec3<Real>{at(3), at(4), at(5)}, at(6) > 0.5),
        lane[7].data());
    out.insert(out.end(), lane[7].begin(), lane[7].begin() + static_cast<std::ptrdiff_t>(count));
  }
  return out;
}

}  // namespace catoptra
