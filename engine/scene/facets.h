#pragma once
// Facets: the panels that one mirror is made of, as frames in the frame that the mount holds: x, y across its axis, z
// along it. Each facet is the component's shape with its aperture. A verb takes the facet's width along x and y, which
// the pitch of a grid needs. To add a kind: a struct here, and its name in AnyFacets.
#include <array>
#include <string_view>
#include <variant>
#include <vector>

#include "geometry/frame.h"
#include "numeric/field.h"
#include "scene/frame_table.h"

namespace catoptra {

/// Rows and columns about the axis, side by side with gaps, canted on axis: each facet's normal halves the angle
/// between the axis and the way to a point of it. docs/theory/facets.md.
struct FacetGrid {
  static constexpr std::string_view kind = "grid";
  static constexpr std::array<std::string_view, 2> supports{"flat", "paraboloid"};
  std::array<int, 2> count{1, 1};
  Vec2 gap_m;
  double focus_distance_m = 0;
  Choice support;

  static constexpr std::array<Field<FacetGrid>, 4> fields{{
      {"count", &FacetGrid::count, units::none, range::within(1, 1000), Need::required,
       "facets along x and along y; the grid is centred"},
      {"gap_m", &FacetGrid::gap_m, units::metre, range::within(0, 1000), Need::optional,
       "between neighbours along x and along y, as seen along the axis before they are canted"},
      {"focus_distance_m", &FacetGrid::focus_distance_m, units::metre, range::within(0, 1e6), Need::required,
       "from the grid's middle to the point of the axis that all are canted to; 0: not canted, all face along the "
       "axis"},
      {"support", &FacetGrid::support, units::none, range::any, Need::optional,
       "where the facets' vertices lie: on a plane, or on the paraboloid that has this focus", supports},
  }};
  void check() const;
  /// Throws KeyFault where facets would stand edge on.
  std::vector<Frame> frames(const Vec2& facet_m) const;
};

using AnyFacets = std::variant<FacetGrid, FrameTable>;

/// On-axis canting: the unit normal of a mirror at `at_m` that sends light which comes along z to `focus_m`.
Vec canted_normal(const Vec& at_m, const Vec& focus_m);

std::vector<Frame> frames_of(const AnyFacets& facets, const Vec2& facet_m);

}  // namespace catoptra
