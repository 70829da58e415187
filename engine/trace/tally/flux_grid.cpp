#include "trace/tally/flux_grid.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <numeric>
#include <stdexcept>

#include "geometry/area.h"

namespace catoptra {

namespace {

/// The height of a closed surface's upper end. (Its box is a hair larger.) Throws where the surface holds no map.
double top_m(const AnySurface& surface) {
  return std::visit(
      []<Surface S>(const S& s) -> double {
        if constexpr (RoundBody<S>) {
          return s.top_m();
        } else {
          throw std::invalid_argument("a flux map needs a surface above an outline, a tube, a cone or a ball");
        }
      },
      surface);
}

/// Bins of a row, all alike, in groups of neighbours: the number of groups, and the bins of the smallest group, are so
/// chosen that no group has less than `least_m2`, unless the whole row has less.
void join_row(double bin_m2, double least_m2, int count, int first_bin, int apart, std::vector<int>& host) {
  const int wanted = static_cast<int>(std::fmin(std::ceil(least_m2 / bin_m2), count));
  const int groups = count / wanted;
  for (int i = 0; i < count; ++i) {
    const int begin = (i * groups / count * count + groups - 1) / groups;  // the first of the group that holds i
    host[first_bin + i * apart] = first_bin + begin * apart;
  }
}

}  // namespace

FluxGrid::FluxGrid(const AnySurface& surface, const AnyOutline& outline, std::array<int, 2> bins)
    : surface_(surface), outline_(outline), unrolled_(std::holds_alternative<Whole>(outline)), count_(bins) {
  std::array<double, 2> high{};
  if (unrolled_) {
    largest_radius_ = top_m(surface_);
    low_ = {0, -largest_radius_};
    high = {2 * pi, largest_radius_};
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

double FluxGrid::strip_area_m2(int i, int j) const {
  return std::visit(
      [&]<Surface S>(const S& s) -> double {
        if constexpr (RoundBody<S>) return s.belt_m2(edge(0, i + 1) - edge(0, i), edge(1, j), edge(1, j + 1));
        return 0;
      },
      surface_);
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
  const AreaAbove above(surface_, outline_);
  for (int i = 0; i < count_[0]; ++i) {
    for (int j = 0; j < count_[1]; ++j) {
      const Box2 bin{{edge(0, i), edge(1, j)}, {edge(0, i + 1), edge(1, j + 1)}};
      map.area_m2.push_back(unrolled_ ? strip_area_m2(i, j) : above.within_m2(bin));
    }
  }
  return map;
}

std::vector<int> FluxGrid::hosts(const std::vector<double>& area_m2) const {
  std::vector<int> host(area_m2.size());
  std::iota(host.begin(), host.end(), 0);
  if (unrolled_) {
    const double least_m2 = smallest_share_of_bin * *std::ranges::max_element(area_m2);
    for (int j = 0; j < count_[1]; ++j) {
      if (area_m2[j] > 0 && area_m2[j] < least_m2) join_row(area_m2[j], least_m2, count_[0], j, count_[1], host);
    }
    return host;
  }
  // The rectangle's: that of a whole bin on a curved surface is no smaller.
  const double sliver_m2 = smallest_share_of_bin / (per_unit_[0] * per_unit_[1]);
  // The largest of four neighbours, if it is larger than the bin: each step leads uphill, so none leads in a circle.
  const auto largest_of = [&](int bin, const std::array<std::array<int, 2>, 4>& steps) {
    const int i = bin / count_[1], j = bin % count_[1];
    int best = bin;
    for (const auto& [di, dj] : steps) {
      if (i + di < 0 || i + di >= count_[0] || j + dj < 0 || j + dj >= count_[1]) continue;
      const int neighbour = bin + di * count_[1] + dj;
      if (area_m2[neighbour] > area_m2[best]) best = neighbour;
    }
    return best;
  };
  std::vector<int> slivers;
  for (int bin = 0; bin < bins(); ++bin) {
    if (!(area_m2[bin] > 0 && area_m2[bin] < sliver_m2)) continue;
    slivers.push_back(bin);
    host[bin] = largest_of(bin, {{{-1, 0}, {1, 0}, {0, -1}, {0, 1}}});
    if (host[bin] == bin) host[bin] = largest_of(bin, {{{-1, -1}, {-1, 1}, {1, -1}, {1, 1}}});
  }
  // A sliver's host may be a larger sliver, which has one itself.
  std::ranges::sort(slivers, std::greater<>{}, [&](int bin) { return area_m2[bin]; });
  for (const int bin : slivers) host[bin] = host[host[bin]];
  return host;
}

std::vector<double> FluxGrid::radius_edges_m() const {
  std::vector<double> edges;
  for (int k = 0; k <= radius_bins; ++k) edges.push_back(largest_radius_ * k / radius_bins);
  return edges;
}

}  // namespace catoptra
