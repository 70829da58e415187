#pragma once
// A schedule as an HDF5 file; docs/result-schema.md lists every object in it.
#include <filesystem>
#include <string>

#include "results/provenance.h"
#include "scene/model.h"
#include "steer/design.h"
#include "steer/schedule.h"
#include "steer/tolerance.h"

namespace catoptra {

/// Writes `schedule`, and `tolerance` and the `design` whose schedule it is where there are any, with the scene's exact
/// text. The file exists whole or not at all. Throws std::runtime_error with the path and the system's words.
void write_schedule(const std::filesystem::path& path, const Scene& scene, const Schedule& schedule,
                    const std::vector<ToleranceCurve>& tolerance, const Provenance& from,
                    const Design* design = nullptr);

/// One JSON object with the names of the HDF5 file, a list of suns in it. `file`: where the HDF5 file lies.
std::string to_json(const Scene& scene, const Schedule& schedule, const std::vector<ToleranceCurve>& tolerance,
                    const Provenance& from, const std::string& file, const Design* design = nullptr);

}  // namespace catoptra
