#include "scene/vary.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <optional>
#include <toml++/toml.h>
#include <utility>
#include <vector>

#include "scene/patched_text.h"
#include "scene/path_steps.h"
#include "scene/roles.h"
#include "scene/table_reader.h"
#include "scene/toml_layout.h"
#include "scene/words.h"

namespace catoptra {
namespace {

/// What a path to a number may go on with: of the scene as a whole, its components and finishes alone.
std::vector<PathStep> steps_to_numbers(const toml::node& node, bool is_root) {
  std::vector<PathStep> out = steps_from(node);
  if (is_root)
    std::erase_if(out, [](const PathStep& step) {
      return step.name != "finish" &&
             std::ranges::none_of(all_roles, [&](Role role) { return role_word(role) == step.name; });
    });
  return out;
}

std::size_t begin_of(const std::string& text, const toml::node& node) {
  return TextLines(text).offset(place_of(node.source()));
}

[[noreturn]] void refuse_word(const std::string& path, std::string_view before, std::string_view word,
                              const std::vector<PathStep>& steps, const toml::node& reached) {
  const auto words = names_of(steps);
  std::string text = before.empty() ? fmt::format("'{}': a path can't begin with '{}'", path, word)
                                    : fmt::format("'{}': nothing in '{}' is called '{}'", path, before, word);
  text += "\n  allowed: " + joined(words);
  if (const auto near = nearest_word(word, words)) text += fmt::format("\n  did you mean '{}'?", *near);
  if (reached.is_table() && !before.empty())
    text += "\n  a key that is left to its default must first be written in the scene";
  throw WrongPath(before.empty() ? Place{} : place_of(reached.source()), text);
}

const toml::node& node_at(const toml::table& root, const std::string& path) {
  const toml::node* node = &root;
  std::string_view left = path;
  while (!left.empty()) {
    const auto before = std::string_view(path).substr(0, path.size() - left.size());
    const std::string_view so_far = before.empty() ? before : before.substr(0, before.size() - 1);
    const auto steps = steps_to_numbers(*node, node == &root);
    if (steps.empty())
      throw WrongPath(place_of(node->source()),
                      fmt::format("'{}': nothing can stand in '{}', {}", path, so_far, found_text(*node)));
    const PathStep* chosen = next_step(steps, left);
    if (chosen == nullptr) refuse_word(path, so_far, left.substr(0, left.find('.')), steps, *node);
    node = chosen->node;
    left.remove_prefix(std::min(left.size(), chosen->name.size() + 1));
  }
  return *node;
}

WrittenNumber number_at(const toml::table& root, const std::string& text, const std::string& path) {
  const toml::node& node = node_at(root, path);
  const auto value = node.value<double>();
  if (!node.is_number() || !value) {
    const auto steps = steps_to_numbers(node, &node == &root);
    const auto words = names_of(steps);
    throw WrongPath(place_of(node.source()),
                    fmt::format("'{}' is no number: {}{}", path, found_text(node),
                                words.empty() ? "" : "\n  allowed: a dot and one of " + joined(words)));
  }
  const std::size_t begin = begin_of(text, node);
  return {begin, end_of_value(text, begin) - begin, place_of(node.source()), *value};
}

std::string toml_text(double x) {
  if (!std::isfinite(x)) throw std::runtime_error("a scene can't hold a number that is not finite");
  return fmt::format("{}", x);  // the shortest that reads back to the same double
}

std::string toml_text(const Vec& v) {
  return fmt::format("[{}, {}, {}]", toml_text(v.x), toml_text(v.y), toml_text(v.z));
}

/// The end of an inline table of numbers that begins at `begin`.
std::optional<std::size_t> end_of_table(const std::string& text, std::size_t begin) {
  const std::size_t end = text.find('}', begin);
  if (end == std::string::npos || text.substr(begin, end - begin).find('#') != std::string::npos) return std::nullopt;
  return end + 1;
}

[[noreturn]] void refuse_pose(const toml::table& mount, const std::string& component) {
  throw WrongPath(
      place_of(mount.get("kind")->source()),
      fmt::format(
          "the pose of '{}' can't be written\n  allowed: a mount whose pose, if it has one, stands on one line, "
          "pose = {{ offset_m = [x, y, z], axis = [x, y, z] }}",
          component));
}

}  // namespace

WrittenNumber find_number(const std::string& text, const std::string& path) {
  const toml::table root = toml::parse(std::string_view(text));
  return number_at(root, text, path);
}

std::string with_values(const std::string& text, std::span<const NewValue> values) {
  const toml::table root = toml::parse(std::string_view(text));
  std::vector<std::pair<WrittenNumber, double>> changes;
  for (const auto& [path, value] : values) changes.emplace_back(number_at(root, text, path), value);
  std::ranges::sort(changes, std::ranges::greater(), [](const auto& change) { return change.first.begin; });
  std::string out = text;
  for (const auto& [number, value] : changes) out.replace(number.begin, number.size, toml_text(value));
  const toml::table changed = toml::parse(std::string_view(out));
  for (const auto& [path, value] : values)
    if (number_at(changed, out, path).value != value)
      throw std::runtime_error(fmt::format("'{}' could not be set: is it named twice?", path));
  return out;
}

std::string with_pose(const std::string& text, const std::string& component, const SteeredMount& mount) {
  const toml::table root = toml::parse(std::string_view(text));
  const toml::table* table = nullptr;
  for (const Role role : all_roles) {
    const auto* list = root[role_word(role)].as_array();
    for (std::size_t i = 0; list != nullptr && i < list->size(); ++i)
      if ((*list)[i].as_table() != nullptr && (*(*list)[i].as_table())["name"].value<std::string>() == component)
        table = (*(*list)[i].as_table())["mount"].as_table();
  }
  if (table == nullptr || table->get("kind") == nullptr)
    throw WrongPath({}, fmt::format("no component with a mount is called '{}'", component));
  const std::string pose = fmt::format("{{ offset_m = {}, axis = {}, roll_deg = {} }}", toml_text(mount.offset_m),
                                       toml_text(mount.axis), toml_text(mount.roll_rad / units::degree_rad));
  std::string out = text;
  if (const auto* old = table->get_as<toml::table>("pose")) {
    const std::size_t begin = begin_of(text, *old);
    const auto end = end_of_table(text, begin);
    if (!old->is_inline() || !end) refuse_pose(*table, component);
    return out.replace(begin, *end - begin, pose);
  }
  const std::size_t kind = begin_of(text, *table->get("kind"));
  const std::size_t end = kind + SteeredMount::kind.size() + 2;
  if (end > text.size() || text.substr(kind + 1, SteeredMount::kind.size()) != SteeredMount::kind)
    refuse_pose(*table, component);
  if (table->is_inline()) return out.insert(end, ", pose = " + pose);
  // A line of its own with the same beginning: "mount.kind = " gives "mount.pose = ".
  const std::size_t line = text.rfind('\n', kind) + 1;
  std::string beginning = text.substr(line, kind - line);
  const std::size_t word = beginning.rfind("kind");
  if (word == std::string::npos) refuse_pose(*table, component);
  beginning.replace(word, 4, "pose");
  const bool crlf = text.find("\r\n") != std::string::npos;
  return out.insert(line, beginning + pose + (crlf ? "\r\n" : "\n"));
}

}  // namespace catoptra
