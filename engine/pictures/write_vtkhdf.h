#pragma once
// A scene and what was found in it as a VTKHDF file, version 1.0, type UnstructuredGrid: the HDF5 form of the
// Visualization Toolkit (docs.vtk.org, "VTKHDF File Format"), which ParaView opens from version 5.10 on.
#include <filesystem>
#include <span>
#include <string>
#include <vector>

#include "pictures/scene_view.h"

namespace catoptra {

/// A receiver's map, to be painted on the component of that name.
struct NamedMap {
  std::string receiver;
  FluxMap map;
};

/// Every copy of every component in triangles, then the paths as lines; the view must have been made with
/// MeshLines::bins. Cell data: `component` (its place in the scene), `role`, `flux_W_m2` and
/// `flux_standard_error_W_m2` (NaN where no map is), `fate` (-1: no path), `power_W` (of a path; NaN elsewhere). The
/// words behind whole numbers are in attributes `flag_meanings` (roles, fates) and `names` (components). The file
/// exists whole or not at all. Throws std::runtime_error with the path and the system's words.
void write_vtkhdf(const std::filesystem::path& path, const SceneView& view, std::span<const NamedMap> maps,
                  std::span<const RayPath> paths);

}  // namespace catoptra
