#pragma once
// A scene as pictures need it: every component's mesh, where its copies stand, where flux is to be painted on it, ray
// paths, the sun. One description for the page and for files of other programs.
//
// to_json() gives one object; lengths in m, axes east, north, up:
//   title       text
//   to_sun      [x, y, z], unit, from the ground to the sun's centre; azimuth_deg, elevation_deg: the same in degrees
//   low_m, high_m  corners of the box round all components
//   components  a list in the scene's order, of objects:
//     name, role ("primary", "secondary", "receiver", …), shape (the scene's word, "sphere")
//     copies      12 numbers a copy: origin, then the own x, y and z axes as the world sees them. A point p of the
//                 mesh stands at origin + p.x x + p.y y + p.z z
//     points_m, normals, triangles   the mesh in the own frame, flat lists of 3 numbers each; triangles are numbers of
//                 points, counter-clockwise as seen from the front
//     flux        receivers alone: {"first": "azimuth_rad", "second": "height_m", "coordinates": […]}: the names of
//                 the flux map's axes, and for each point its place (u, v) on them, 0 at the first edge, 1 at the
//                 last. Texture coordinates, for a picture of the map with u across its first axis
//   paths       {"fates": […], "fate", "power_W", "vertex_count", "vertices_m"}: lists with an entry a path; the fate
//               is a place in `fates`, whose words are terms of the budget; vertices of all paths in a row, 3 numbers
//               each
// Lengths keep 7 digits, directions and coordinates 5 decimals.
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "geometry/mesh.h"
#include "scene/model.h"
#include "trace/result.h"

namespace catoptra {

/// Where a receiver's flux map lies on its mesh: names and bounds of the map's axes, in the unit of the mesh's
/// coordinates.
struct FluxPlace {
  std::string first, second;
  Vec2 low, high;
};

struct ComponentView {
  std::string name, shape_kind;
  Role role = Role::primary;
  Mesh mesh;  // own frame
  std::vector<Frame> copies;
  std::optional<FluxPlace> flux;  // receivers
};

struct SceneView {
  std::string title;
  Vec to_sun{0, 0, 1};
  Box bounds_m;  // of all components, in the world
  std::vector<ComponentView> components;
};

/// The scene for its own sun, its steered components where their mounts have them. `bins`: meshes of receivers keep to
/// the bins of their flux maps, so that each triangle lies in one. Throws what place() throws.
enum class MeshLines { none, bins };
SceneView view_of(const Scene& scene, MeshLines lines = MeshLines::none, double step_rad = pi / 24);

/// Where (u, v), 0 to 1, a mesh's coordinates lie on the flux map.
Vec2 share_of_map(const FluxPlace& place, const Vec2& coordinates);

/// The bin of the map in which each triangle of a receiver's mesh lies, by its middle; first axis slower, as the map's
/// lists are. Exact where the mesh was made with MeshLines::bins.
std::vector<std::size_t> bins_of_triangles(const ComponentView& receiver, const FluxMap& map);

std::string to_json(const SceneView& view, std::span<const RayPath> paths);

}  // namespace catoptra
