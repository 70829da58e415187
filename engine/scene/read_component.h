#pragma once
#include <string>
#include <vector>

#include "scene/draft.h"
#include "scene/table_reader.h"

namespace catoptra {

/// All components of a role, from the array of tables of that name; `node` may be anything.
std::vector<Draft> read_components(const toml::node& node, Role role, const Reading& reading);

}  // namespace catoptra
