#pragma once
// A trace's result as an HDF5 file; docs/result-schema.md lists every object in it.
#include <filesystem>

#include "results/provenance.h"
#include "scene/model.h"
#include "trace/result.h"

namespace catoptra {

/// Writes `result`, with the scene's exact text so that it can be traced again. The file exists whole or not at all.
/// Throws std::runtime_error with the path and the system's words.
void write_result(const std::filesystem::path& path, const Scene& scene, const TraceResult& result,
                  const Provenance& from);

/// Words about a run that the numbers alone would hide: what the tracer warned of, a precision that was not reached, a
/// run that was stopped. Every output shows them.
std::vector<std::string> remarks(const TraceResult& result);

/// Where the sun stands, from north clockwise and above the horizon, for readers; `to_sun` is unit.
double azimuth_deg(const Vec& to_sun);
double elevation_deg(const Vec& to_sun);

}  // namespace catoptra
