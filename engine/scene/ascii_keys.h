#pragma once
#include <string_view>

#include "scene/problem.h"

namespace catoptra {

/// Reports each character beyond ASCII that stands neither in quotes nor in a comment, as TOML 1.0 demands; false if
/// there is one. The parser in use crashes on such keys, so this comes first.
bool refuse_plain_non_ascii(std::string_view toml_text, Problems& problems);

}  // namespace catoptra
