#pragma once
// A trace's result as an HDF5 file; docs/result-schema.md lists every object in it.
#include <filesystem>

#include "files/provenance.h"
#include "scene/model.h"
#include "trace/result.h"
#include "trace/trace.h"

namespace catoptra {

/// Writes `result`, with the scene's exact text so that it can be traced again. The file exists whole or not at all.
/// Throws std::runtime_error with the path and the system's words.
void write_result(const std::filesystem::path& path, const Scene& scene, const TraceResult& result,
                  const Provenance& from);

/// About the size of that file, in bytes; while it is written the process holds as much besides the result.
double result_size_B(const Scene& scene, const TraceOptions& options);

}  // namespace catoptra
