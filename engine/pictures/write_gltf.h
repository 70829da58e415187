#pragma once
// A scene as binary glTF 2.0 (.glb; Khronos Group, "glTF 2.0 Specification", ISO/IEC 12113:2022), for any viewer of 3-D
// models.
#include <filesystem>
#include <span>

#include "pictures/scene_view.h"
#include "pictures/write_vtkhdf.h"

namespace catoptra {

/// A node a copy of each component, under its name; receivers of which there is a map painted with it, bin by bin, from
/// 0 to the scene's largest irradiance (kept as `extras.largest_flux_W_m2` of the mesh); the paths as lines, a mesh a
/// fate; a line toward the sun. glTF's y is up: the scene's east, north, up are its x, -z, y. The view must have been
/// made with MeshLines::bins. The file exists whole or not at all. Throws std::runtime_error with the path and the
/// system's words.
void write_gltf(const std::filesystem::path& path, const SceneView& view, std::span<const NamedMap> maps,
                std::span<const RayPath> paths, const std::string& generator);

}  // namespace catoptra
