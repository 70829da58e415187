#pragma once
// What a check tells, for programs; docs/scripts.md lists every key.
#include <string>
#include <vector>

#include "scene/read.h"

namespace catoptra {

/// What a trace with its default options takes.
struct Foretold {
  double memory_B = 0, file_B = 0;
};

/// One JSON object with a final newline: the problems, and of a scene without errors what it means. `path` as messages
/// name it; `settings` as typed. `foretold` counts where there is a scene.
std::string check_json(const std::string& path, const std::vector<std::string>& settings, const ReadOutcome& outcome,
                       const Foretold& foretold);

}  // namespace catoptra
