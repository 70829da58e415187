#pragma once
// --free: numbers of a scene that a search may change.
#include <filesystem>
#include <string>
#include <vector>

#include "scene/model.h"
#include "scene/vary.h"
#include "scene_input.h"
#include "steer/design.h"

namespace catoptra {

struct TypedFree {  // as typed; empty: not given
  std::vector<std::string> free;
  std::string best, evaluations;
};

/// The numbers that --free names. Throws UsageError.
std::vector<FreeParameter> free_parameters_of(const TypedFree& typed, const TypedScene& from, const Scene& scene);

/// Where the path ended; none where --set has changed the text, so that its lines are no longer those of the file.
Place place_in_file(const TypedScene& from, const WrongPath& fault);

/// How many variants to try. Throws UsageError.
int evaluations_of(const TypedFree& typed);

/// Where the best scene goes. Throws UsageError.
std::filesystem::path best_path_of(const TypedFree& typed, const TypedScene& from, const Scene& scene);

}  // namespace catoptra
