#include "trace/tally/flux_grid.h"

#include <algorithm>
#include <cmath>

namespace catoptra {

FluxGrid::FluxGrid(const AnySurface& surface, const AnyOutline& outline, std::array<int, 2> bins)
    : surface_(surface), outline_(outline), unrolled_(std::holds_alternative<Whole>(outline)), count_(bins) {
  std::array<double, 2> high{};
  if (unrolled_) {
    const Box bounds = std::visit([&](const auto& s) { return s.box(outline_); }, surface_);
    low_ = {0, bounds.low.z};
    high = {2 * pi, bounds.high.z};
    largest_radius_ = bounds.high.z;
  } else {
    const Box2 bounds = box(outline_);
    low_ = {bounds.low.x, bounds.low.y};
    high = {bounds.high.x, bounds.high.y};
    center_ = {(low_[0] + high[0]) / 2, (low_[1] + high[1]) / 2};
    largest_radius_ = std::hypot(high[0] - low_[0], high[1] - low_[1]) / 2;
    if (const auto* ring = std::get_if<Ring>(&outline_)) largest_radius_ = ring->outer_radius_m;
  }
  for (int axis = 0; axis < 2; ++axis) per_unit_[axis] = count_[axis] / (high[axis] - low_[axis]);
}

double FluxGrid::bin_area_m2(int i, int j) const {
  const double x0 = edge(0, i), x1 = edge(0, i + 1), y0 = edge(1, j), y1 = edge(1, j + 1);
  if (unrolled_) {
    // Area of a strip of a surface of revolution: azimuth span times the integral of radius over slant length.
    return std::visit(
        [&](const auto& s) -> double {
          using S = std::decay_t<decltype(s)>;
          if constexpr (std::is_same_v<S, Cone>) {
            return (x1 - x0) * (s.middle_radius_m + s.growth * (y0 + y1) / 2) * (y1 - y0) *
                   std::sqrt(1 + s.growth * s.growth);
          } else if constexpr (requires { s.radius_m; }) {
            return (x1 - x0) * s.radius_m * (y1 - y0);  // tube; and ball, by Archimedes
          } else {
            return 0;
          }
        },
        surface_);
  }
  // A rim cuts bins, and a curved surface has more area than its projection: midpoints of a fine mesh.
  constexpr int mesh = 32;
  const auto share = std::visit(
      [&](const auto& s, const auto& o) -> double {
        using S = std::decay_t<decltype(s)>;
        if constexpr (S::above_outline) {
          double sum = 0;
          for (int a = 0; a < mesh; ++a) {
            for (int b = 0; b < mesh; ++b) {
              const double x = x0 + (x1 - x0) * (a + 0.5) / mesh, y = y0 + (y1 - y0) * (b + 0.5) / mesh;
              if (o.contains(x, y)) sum += 1 / s.normal(Vec{x, y, s.sag(x, y)}).z;
            }
          }
          return sum / (mesh * mesh);
        } else {
          return 0;
        }
      },
      surface_, outline_);
  return share * (x1 - x0) * (y1 - y0);
}

FluxMap FluxGrid::blank_map() const {
  FluxMap map;
  if (unrolled_) {
    map.first = {"azimuth_rad", "rad", "azimuth about the receiver's axis, from its x toward its y", {}};
    map.second = {"height_m", "m", "height along the receiver's axis, from its middle", {}};
  } else {
    map.first = {"x_m", "m", "along the receiver's x axis", {}};
    map.second = {"y_m", "m", "along the receiver's y axis", {}};
  }
  for (int i = 0; i <= count_[0]; ++i) map.first.edges.push_back(edge(0, i));
  for (int j = 0; j <= count_[1]; ++j) map.second.edges.push_back(edge(1, j));
  map.area_m2.reserve(bins());
  for (int i = 0; i < count_[0]; ++i) {
    for (int j = 0; j < count_[1]; ++j) map.area_m2.push_back(bin_area_m2(i, j));
  }
  return map;
}

std::vector<double> FluxGrid::radius_edges_m() const {
  std::vector<double> edges;
  for (int k = 0; k <= radius_bins; ++k) edges.push_back(largest_radius_ * k / radius_bins);
  return edges;
}

}  // namespace catoptra
