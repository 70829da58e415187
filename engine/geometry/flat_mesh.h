#pragma once
// Outlines cut into triangles in their own plane, for meshes; all lengths in metres.
#include <array>
#include <cstdint>
#include <vector>

#include "geometry/bend.h"
#include "geometry/outline.h"

namespace catoptra {

struct FlatMesh {
  std::vector<Vec2> points_m;
  std::vector<std::array<std::int32_t, 3>> triangles;  // counter-clockwise
};

/// `lines` (two or more, rising) with more lines between them, so that from line to line the section turns by
/// `step_rad` at most, and moves on by no more than that share of the way between two given ones whose tilts are a
/// radian apart. The given ones stay, to the bit.
std::vector<double> divided(const std::vector<double>& lines, const Bend& bend, double step_rad);

/// The outline in triangles. `x_lines` and `y_lines` reach from end to end of its bounds: no triangle crosses one. A
/// circle is followed by chords of `step_rad` or less; rings within it lie where `along_radius` turns by `step_rad`.
/// Empty for Whole.
FlatMesh flat_mesh(const AnyOutline& outline, const std::vector<double>& x_lines, const std::vector<double>& y_lines,
                   const Bend& along_radius, double step_rad);

/// The polygon in triangles, each counter-clockwise.
std::vector<std::array<Vec2, 3>> triangles_m(const Polygon& polygon);

}  // namespace catoptra
