#pragma once
// A component's surface as points, for checks on grids.
#include <optional>
#include <span>
#include <vector>

#include "scene/model.h"

namespace catoptra {

/// A point of the surface, in the component's own frame, for each pair of `us` and `vs`: see entry_point().
std::vector<Vec> points_on(const Component& component, std::span<const double> us, std::span<const double> vs);

/// Height of a point over a surface above an outline, along its axis; both in the component's own frame. None beside
/// the outline, and for other surfaces.
std::optional<double> height_over_m(const Component& component, const Vec& local);

}  // namespace catoptra
