#pragma once
// A schedule as an HDF5 file; docs/result-schema.md lists every object in it.
#include <filesystem>
#include <string>

#include "files/provenance.h"
#include "scene/model.h"
#include "steer/design.h"
#include "steer/realisations.h"
#include "steer/schedule.h"
#include "steer/tolerance.h"

namespace catoptra {

/// What else was found about a schedule; empty or null: not asked for.
struct ScheduleExtras {
  std::vector<ToleranceCurve> tolerance;
  const Realisations* realisations = nullptr;
  const Design* design = nullptr;  // whose schedule it is
};

/// Writes `schedule` and its extras with the scene's exact text. The file exists whole or not at all. Throws
/// std::runtime_error with the path and the system's words.
void write_schedule(const std::filesystem::path& path, const Scene& scene, const Schedule& schedule,
                    const Provenance& from, const ScheduleExtras& extras = {});

/// One JSON object with the names of the HDF5 file, a list of suns in it. `file`: where the HDF5 file lies; empty:
/// none.
std::string to_json(const Scene& scene, const Schedule& schedule, const Provenance& from, const std::string& file,
                    const ScheduleExtras& extras = {});

}  // namespace catoptra
