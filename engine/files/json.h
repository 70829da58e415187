#pragma once
// A trace's result as JSON: the names of the HDF5 file, the numbers to the last bit.
#include <string>

#include "files/provenance.h"
#include "scene/model.h"
#include "trace/result.h"

namespace catoptra {

/// One JSON object (RFC 8259), indented, with a final newline. Numbers are the shortest that read back to the same
/// double; what is not a number (a ratio whose denominator is 0) is null. `file`: where the HDF5 file lies; empty:
/// none.
std::string to_json(const Scene& scene, const TraceResult& result, const Provenance& from, const std::string& file);

}  // namespace catoptra
