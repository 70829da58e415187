#pragma once
// What a run takes of this machine, told before it begins.
#include <string>

#include "files/check_json.h"
#include "scene/model.h"
#include "trace/trace.h"

namespace catoptra {

/// "1.2 GB", "45 MB".
std::string bytes_text(double bytes);

/// For `check`: memory and file of a trace with its default options.
Foretold foretold_of(const Scene& scene);
std::string foretold_words(const Foretold& foretold);

/// `writes_maps`: the run ends with a file of its flux maps. Throws UsageError where the memory of this machine is too
/// small whatever happens; warns where it may be.
void require_memory(const Scene& scene, const TraceOptions& options, bool writes_maps);

/// An error's own words, but where memory ran out: those of the library tell a user nothing.
std::string words_of_fault(const std::exception& fault);

}  // namespace catoptra
