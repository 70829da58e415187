#pragma once
// Where on a receiver light lands: bins of a flux map and of the enclosed-power curve.
#include <array>
#include <vector>

#include "geometry/surface.h"
#include "trace/result.h"

namespace catoptra {

inline constexpr int radius_bins = 256;

/// A bin of which the rim leaves a smaller share than this is counted together with a neighbour; so is a bin near the
/// tip of a cone that is a smaller share of the largest one.
inline constexpr double smallest_share_of_bin = 0.25;

/// A receiver's bins. Surfaces above an outline are mapped on (x, y); tubes, cones and balls are unrolled on (azimuth
/// from x toward y, height along the axis), which for tube and ball gives bins of equal area (Archimedes).
class FluxGrid {
 public:
  /// Throws std::invalid_argument for walls that have neither an outline nor a map: compound parabolas, correctors.
  FluxGrid(const AnySurface& surface, const AnyOutline& outline, std::array<int, 2> bins);

  int bins() const { return count_[0] * count_[1]; }
  bool is_unrolled() const { return unrolled_; }

  /// Bin and radius bin, as whole numbers held in doubles, of points on the surface (own frame).
  struct Places {
    Pack bin, radius_bin;
  };
  Places places(const Vec3<Pack>& p) const {
    const auto place = [](const Pack& at, double low, double bins_per_unit, int count) {
      return xsimd::floor(smaller(larger((at - low) * bins_per_unit, Pack(0.0)), Pack(count - 0.5)));
    };
    Pack first = p.x, second = p.y, radius;
    if (unrolled_) {
      first = xsimd::atan2(p.y, p.x);
      first = select(first < 0, first + 2 * pi, first);
      second = p.z;
      radius = absolute(p.z);
    } else {
      const Pack dx = p.x - center_.x, dy = p.y - center_.y;
      radius = square_root(dx * dx + dy * dy);
    }
    return {
        place(first, low_[0], per_unit_[0], count_[0]) * count_[1] + place(second, low_[1], per_unit_[1], count_[1]),
        place(radius, 0, radius_bins / largest_radius_, radius_bins)};
  }

  /// The empty map: axes and the area of each bin that belongs to the surface.
  FluxMap blank_map() const;
  /// For each bin the one that it is counted with. Most bins are counted alone. A sliver (see smallest_share_of_bin) is
  /// not: one or two rays on it would pass for a peak. What the rim leaves of a bin is counted with its largest
  /// neighbour; a neighbour beside it comes before one across a corner. Without a larger neighbour it stays alone.
  /// Toward the tip of a cone whole bins become slivers, a row at a time: there neighbours of a row are counted
  /// together, all of the row if need be. `area_m2`: of the blank map.
  std::vector<int> hosts(const std::vector<double>& area_m2) const;
  std::vector<double> radius_edges_m() const;

 private:
  double strip_area_m2(int i, int j) const;  // of an unrolled bin
  double edge(int axis, int i) const { return low_[axis] + i / per_unit_[axis]; }

  const AnySurface surface_;
  const AnyOutline outline_;
  bool unrolled_;
  std::array<int, 2> count_;
  std::array<double, 2> low_{}, per_unit_{};
  Vec2 center_;
  double largest_radius_ = 1;
};

}  // namespace catoptra
