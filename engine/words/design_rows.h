#pragma once
// A shape search as text: for a terminal, and at the head of the scene that it found.
#include <string>

#include "steer/design.h"

namespace catoptra {

/// What was free, what it was and is now, and the gain in standard errors. Lines of at most 80 columns, but for long
/// paths.
std::string design_text(const Design& design);

/// The best scene's text with a comment before it that says how it was found.
std::string best_scene_text(const Design& design);

}  // namespace catoptra
