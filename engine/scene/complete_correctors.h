#pragma once
#include <vector>

#include "scene/draft.h"
#include "scene/problem.h"

namespace catoptra {

/// Gives correctors their surface, now that the primary that each names is known; or says why there is none.
void complete_correctors(std::vector<Draft>& drafts, Problems& problems);

}  // namespace catoptra
