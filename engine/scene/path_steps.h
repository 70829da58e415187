#pragma once
// What a path through a scene's text may go on with: keys of tables, names of components, numbers and axes of lists.
#include <string>
#include <string_view>
#include <toml++/toml.h>
#include <vector>

namespace catoptra {

struct PathStep {
  std::string name;  // as a path has it
  std::string key;   // as the text has it: an element of a list by its number
  const toml::node* node;
};

std::vector<PathStep> steps_from(const toml::node& node);

/// The step that `path` goes on with; names may have dots in them, so the longest that fits. Null where none does.
const PathStep* next_step(const std::vector<PathStep>& steps, std::string_view path);

/// The names of the steps.
std::vector<std::string_view> names_of(const std::vector<PathStep>& steps);

}  // namespace catoptra
