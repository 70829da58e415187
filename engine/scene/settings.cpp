#include "scene/settings.h"

#include <algorithm>
#include <fmt/format.h>
#include <iterator>
#include <memory>
#include <stdexcept>
#include <utility>
#include <vector>

#include "scene/patched_text.h"
#include "scene/plain_text.h"
#include "scene/read_file.h"
#include "scene/read_setting.h"
#include "scene/roles.h"
#include "scene/table_reader.h"
#include "scene/toml_depth.h"
#include "scene/write_setting.h"

namespace catoptra {
namespace {

/// A problem at `place`, whose line is that of `text`.
Problem placed(const std::string& path, std::string_view text, Place place, const Problem& problem,
               std::vector<std::string> notes) {
  Problems one(path, text);
  if (problem.severity == Severity::error)
    one.error(place, problem.message, std::move(notes));
  else
    one.warning(place, problem.message, std::move(notes));
  return std::move(one.take().front());
}

/// A problem whose line is the setting itself, which has no number.
Problem in_setting(const std::string& setting, Place place, const Problem& problem, std::vector<std::string> notes) {
  place.line = 1;
  Problem out = placed("--set", setting, place, problem, std::move(notes));
  out.place.line = 0;
  return out;
}

Problem in_setting(const std::string& setting, const SettingFault& fault) {
  const TextLines lines(setting);
  Place place = lines.place(fault.at());
  place.width = std::max(1, lines.place(fault.at() + fault.width()).column - place.column);
  Problem problem;
  problem.message = fault.what();
  return in_setting(setting, place, problem, fault.notes());
}

class Settings {
 public:
  Settings(std::string text, const std::string& path, std::span<const std::string> settings)
      : original_(std::move(text)), original_lines_(original_), text_(original_), path_(path), settings_(settings) {}

  ReadOutcome operator()() {
    std::vector<Problem> faults;
    for (std::size_t i = 0; i < settings_.size(); ++i) {
      try {
        apply(settings_[i], static_cast<int>(i));
      } catch (const SettingFault& fault) {
        faults.push_back(in_setting(settings_[i], fault));
      }
    }
    // What a later setting replaces as a whole was meant for something else.
    for (std::size_t i = 0; faults.empty() && i < settings_.size(); ++i) {
      const std::size_t at = values_at_[i];
      if (!text_.has(static_cast<int>(i), at))
        faults.push_back(
            in_setting(settings_[i], SettingFault(at, settings_[i].size() - at, "a later --set replaces this value",
                                                  {"allowed: each value once"})));
    }
    ReadOutcome out;
    out.problems = std::move(faults);
    if (!out.problems.empty()) return out;
    out = read_scene_text(text_.text(), path_);
    const TextLines lines(text_.text());
    for (Problem& problem : out.problems)
      if (problem.path == path_ && problem.place.line > 0) problem = moved(problem, lines);
    if (out.scene) move_places(*out.scene, lines);
    return out;
  }

 private:
  void apply(const std::string& setting, int number) {
    const SettingParts parts = parts_of(setting);
    const toml::table root = toml::parse(std::string_view(text_.text()));
    FoundPath found = find_path(root, std::string_view(setting).substr(0, parts.path_size), place_words(root));
    const SettingValue value = value_of(setting, parts.value_at);
    values_at_.push_back(parts.value_at);
    ends_.push_back(std::move(found.end));
    PatchedText changed = text_;
    write_setting(changed, number, std::move(found.where), value);
    try {
      static_cast<void>(toml::parse(std::string_view(changed.text())));
    } catch (const toml::parse_error&) {
      throw SettingFault(0, parts.path_size,
                         "the scene has this table as keys with dots, which can't be replaced at once",
                         {"allowed: one of its keys"});
    }
    text_ = std::move(changed);
  }

  /// How a message names the place of a node: "bowl.toml:20:5", or what an earlier setting wrote.
  std::function<std::string(const toml::node&)> place_words(const toml::table& root) const {
    return [this, &root](const toml::node& node) -> std::string {
      if (&node == &root) return {};
      const auto origin = text_.origin(TextLines(text_.text()).offset(place_of(node.source())));
      if (origin.patch >= 0) return fmt::format("'--set {}'", settings_[static_cast<std::size_t>(origin.patch)]);
      const Place place = original_lines_.place(origin.offset);
      return fmt::format("{}:{}:{}", path_, place.line, place.column);
    };
  }

  /// The problem, where it was written: in the text as it was, or in a setting.
  Problem moved(const Problem& problem, const TextLines& lines) const {
    const auto origin = text_.origin(lines.offset(problem.place));
    std::vector<std::string> notes = problem.notes;
    if (origin.patch >= 0) {
      const auto number = static_cast<std::size_t>(origin.patch);
      Place place = TextLines(settings_[number]).place(origin.offset);
      place.width = problem.place.width;
      if (!ends_[number].empty()) notes.push_back(ends_[number]);
      return in_setting(settings_[number], place, problem, std::move(notes));
    }
    Place place = original_lines_.place(origin.offset);
    place.width = problem.place.width;
    return placed(path_, original_, place, problem, std::move(notes));
  }

  /// Later messages have their places in the text as it was, too; none where a setting wrote.
  void move_places(Scene& scene, const TextLines& lines) const {
    const auto moved = [&](Place place) -> Place {
      const auto origin = text_.origin(lines.offset(place));
      if (place.line == 0 || origin.patch >= 0) return {};
      Place out = original_lines_.place(origin.offset);
      out.width = place.width;
      return out;
    };
    const toml::table root = toml::parse(std::string_view(text_.text()));
    auto component = scene.components.begin();  // in the order of the text, role by role
    for (const Role role : all_roles) {
      const toml::node* list = root.get(role_word(role));
      for (std::size_t i = 0; list != nullptr && i < list->as_array()->size(); ++i, ++component) {
        const KeyPlaces& old = *component->places;
        KeyPlaces::Map places{{std::string(), moved(old.at({}))}};
        add_moved(*(*list->as_array())[i].as_table(), {}, old, moved, places);
        component->places = std::make_shared<const KeyPlaces>(std::move(places));
      }
    }
  }

  static void add_moved(const toml::table& table, const std::string& before, const KeyPlaces& old, const auto& moved,
                        KeyPlaces::Map& out) {
    for (const auto& [key, node] : table) {
      const std::string path = before + std::string(key.str());
      out.emplace(path, moved(old.at(path)));
      if (const auto* inner = node.as_table()) add_moved(*inner, path + ".", old, moved, out);
    }
  }

  const std::string original_;
  const TextLines original_lines_;
  PatchedText text_;
  const std::string& path_;
  std::span<const std::string> settings_;
  std::vector<std::size_t> values_at_;  // of each setting, where its value begins
  std::vector<std::string> ends_;       // of each, where its path ended in the scene, as a note
};

/// Only what is TOML can be changed.
bool is_toml(const std::string& text, const std::string& path) {
  Problems problems(path, text);
  if (!refuse_non_text(text, problems) || !refuse_deep_nesting(text, problems)) return false;
  try {
    return !toml::parse(std::string_view(text)).empty();
  } catch (const toml::parse_error&) {
    return false;
  }
}

}  // namespace

ReadOutcome read_scene_text(std::string text, const std::string& path, std::span<const std::string> settings) {
  if (settings.empty() || !is_toml(text, path)) return read_scene_text(std::move(text), path);
  return Settings(std::move(text), path, settings)();
}

ReadOutcome read_scene(const std::string& path, std::span<const std::string> settings) {
  std::string text;
  try {
    text = read_whole_file(path);
  } catch (const std::runtime_error&) {
    return read_scene(path);  // which says why
  }
  return read_scene_text(std::move(text), path, settings);
}

}  // namespace catoptra
