#pragma once
#include <toml++/toml.h>

#include "scene/problem.h"

namespace catoptra {

/// Reports each key and text that holds a control character, which an escape such as \u001b can bring into it; false if
/// there is one. Titles and names go to terminals, pages and figures, where such characters act instead of being shown.
bool refuse_control_characters(const toml::table& root, Problems& problems);

}  // namespace catoptra
