#pragma once
#include <string_view>

#include "scene/problem.h"

namespace catoptra {

/// Reports the first key of too many parts and the first value nested too deep; false if there is one. No scene needs
/// more than four of either. The parser builds a tree of any depth and takes it down by recursion, which ends in a
/// stack overflow, so this comes first.
bool refuse_deep_nesting(std::string_view toml_text, Problems& problems);

}  // namespace catoptra
