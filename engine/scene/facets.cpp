#include "scene/facets.h"

#include <fmt/format.h>

#include "numeric/lanes.h"

namespace catoptra {
namespace {

constexpr double least_rise = 0.02;  // of a facet's normal along the grid's axis: beyond, a paraboloid is a wall

}  // namespace

Vec canted_normal(const Vec& at_m, const Vec& focus_m) {
  // The law of reflection: n halves the angle between the way to the source, along z, and the way to the focus.
  return unit(Vec{0, 0, 1} + unit(focus_m - at_m));
}

void FacetGrid::check() const {
  constexpr double least_m = range::length_m.low;
  if (focus_distance_m > 0 && focus_distance_m < least_m)
    throw KeyFault("focus_distance_m", "the focus lies in the grid's middle",
                   {fmt::format("allowed: 0, or {} at least", least_m)});
  if (support.index != 0 && focus_distance_m == 0)
    throw KeyFault("support", "a paraboloid needs a focus",
                   {"found: focus_distance_m = 0", "allowed: support = \"flat\", or focus_distance_m more than 0"});
}

std::vector<Frame> FacetGrid::frames(const Vec2& facet_m) const {
  const double pitch_x_m = facet_m.x + gap_m.x, pitch_y_m = facet_m.y + gap_m.y;
  const Vec focus_m{0, 0, focus_distance_m};
  std::vector<Frame> out;
  for (int j = 0; j < count[1]; ++j) {
    for (int i = 0; i < count[0]; ++i) {
      Vec at_m{(i - 0.5 * (count[0] - 1)) * pitch_x_m, (j - 0.5 * (count[1] - 1)) * pitch_y_m, 0};
      if (support.index != 0) at_m.z = (at_m.x * at_m.x + at_m.y * at_m.y) / (4 * focus_distance_m);
      if (focus_distance_m == 0) {
        out.push_back({at_m});
        continue;
      }
      const Vec normal = canted_normal(at_m, focus_m);
      if (!(normal.z > least_rise))
        throw KeyFault("focus_distance_m", "the grid is too wide for its focus: outer facets lie edge on");
      out.push_back(tilted(at_m, normal));
    }
  }
  return out;
}

std::vector<Frame> frames_of(const AnyFacets& facets, const Vec2& facet_m) {
  return std::visit(
      [&](const auto& kind) {
        if constexpr (requires { kind.frames(facet_m); }) {
          return kind.frames(facet_m);
        } else {
          return kind.frames();
        }
      },
      facets);
}

}  // namespace catoptra
