#pragma once
#include <string>

#include "scene/model.h"

namespace catoptra {

/// What a scene means, in words and SI units, at most 80 columns wide: the sun, each component with the numbers that
/// follow from its keys, the totals, and the caution that belongs to them. Ends with a newline. The scene is one that
/// read_scene() gave: its own sun can be placed.
std::string describe(const Scene& scene);

}  // namespace catoptra
