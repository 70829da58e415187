#pragma once
// --free: numbers of a scene that a search may change.
#include <filesystem>
#include <string>
#include <vector>

#include "scene/model.h"
#include "steer/design.h"

namespace catoptra {

struct TypedFree {  // as typed; empty: not given
  std::vector<std::string> free;
  std::string best, evaluations;
};

/// The numbers that --free names. Throws UsageError.
std::vector<FreeParameter> free_parameters_of(const TypedFree& typed, const Scene& scene);

/// How many variants to try. Throws UsageError.
int evaluations_of(const TypedFree& typed);

/// Where the best scene goes; `scene_path` as typed. Throws UsageError.
std::filesystem::path best_path_of(const TypedFree& typed, const std::string& scene_path, const Scene& scene);

}  // namespace catoptra
