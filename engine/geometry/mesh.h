#pragma once
// Surfaces as triangles, for pictures and for other programs; the tracer never sees them.
#include <array>
#include <cstdint>
#include <vector>

#include "geometry/surface.h"

namespace catoptra {

/// A surface's front in its own frame. Every point lies on the surface and inside the outline, or on its edge.
struct Mesh {
  std::vector<Vec> points_m;
  std::vector<Vec> normals;       // there: unit, toward the front
  std::vector<Vec2> coordinates;  // there: x, y in m above an outline; else azimuth in rad, height in m
  std::vector<std::array<std::int32_t, 3>> triangles;  // counter-clockwise, seen from the front
};

struct MeshOptions {
  double step_rad = pi / 24;  // most that a circle, or the normal along a section, turns from point to point
  // Lines that no triangle shall cross, as the edges of a flux map's bins: of x and y above an outline, else of azimuth
  // and height; rising, from end to end of the surface. Empty: none.
  std::vector<double> first_lines, second_lines;
};

/// The mesh of the part of `surface` inside `outline`. Its area comes to the exact one (geometry/area.h) as the square
/// of the step. Lines are ignored for correctors and compound parabolas, which hold no flux map. Throws
/// std::invalid_argument for a step outside (0, pi / 2].
Mesh mesh_of(const AnySurface& surface, const AnyOutline& outline, const MeshOptions& options = {});

/// Sum of the triangles' areas, m^2.
double area_m2(const Mesh& mesh);

}  // namespace catoptra
