#include "scene/path_steps.h"

namespace catoptra {

std::vector<PathStep> steps_from(const toml::node& node) {
  std::vector<PathStep> out;
  if (const auto* table = node.as_table()) {
    for (const auto& [key, value] : *table) out.push_back({std::string(key.str()), std::string(key.str()), &value});
  } else if (const auto* list = node.as_array()) {
    const bool is_named = !list->empty() && list->is_homogeneous<toml::table>();
    for (std::size_t i = 0; i < list->size(); ++i) {
      const toml::node& element = (*list)[i];
      if (is_named) {
        const auto name = (*element.as_table())["name"].value<std::string>();
        if (name) out.push_back({*name, std::to_string(i), &element});
      } else {
        out.push_back({std::to_string(i), std::to_string(i), &element});
      }
    }
    if (!is_named && (list->size() == 2 || list->size() == 3))
      for (std::size_t i = 0; i < list->size(); ++i)
        out.push_back({std::string(1, "xyz"[i]), std::to_string(i), &(*list)[i]});
  }
  return out;
}

const PathStep* next_step(const std::vector<PathStep>& steps, std::string_view path) {
  const PathStep* chosen = nullptr;
  for (const PathStep& step : steps) {
    const auto& name = step.name;
    const bool fits = path.starts_with(name) && (path.size() == name.size() || path[name.size()] == '.');
    if (fits && (chosen == nullptr || name.size() > chosen->name.size())) chosen = &step;
  }
  return chosen;
}

std::vector<std::string_view> names_of(const std::vector<PathStep>& steps) {
  std::vector<std::string_view> out;
  for (const PathStep& step : steps) out.push_back(step.name);
  return out;
}

}  // namespace catoptra
