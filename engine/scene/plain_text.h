#pragma once
#include <string_view>

#include "scene/problem.h"

namespace catoptra {

/// Reports the first byte that no text file has: a control character other than tab and line ends, or what is no UTF-8
/// (RFC 3629); false if there is one. Nothing of such a file belongs on a terminal.
bool refuse_non_text(std::string_view text, Problems& problems);

}  // namespace catoptra
