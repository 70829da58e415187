#include "scene/read_setting.h"

#include <algorithm>
#include <array>
#include <fmt/format.h>
#include <iterator>
#include <utility>

#include "scene/path_steps.h"
#include "scene/plain_text.h"
#include "scene/roles.h"
#include "scene/table_reader.h"
#include "scene/toml_depth.h"
#include "scene/toml_fault.h"
#include "scene/words.h"

namespace catoptra {
namespace {

constexpr const char* form = "allowed: a path, = and a value, as 'sun.dni_W_m2=850'";

/// Of the root, beside the tables of components.
constexpr std::array<std::string_view, 5> root_words{"schema", "title", "site", "sun", "finish"};

class PathFinder {
 public:
  PathFinder(const toml::table& root, std::string_view path,
             const std::function<std::string(const toml::node&)>& place_words)
      : root_(root), path_(path), place_words_(place_words), node_(&root) {}

  FoundPath operator()() {
    std::size_t at = 0;
    while (at < path_.size()) {
      const auto steps = steps_from(*node_);
      const PathStep* step = next_step(steps, path_.substr(at));
      if (step == nullptr) {
        add_missing(at, steps);
        out_.end = end_words("in the table at");
        return std::move(out_);
      }
      out_.where.path.push_back(step->key);
      out_.where.last_at = at;
      node_ = step->node;
      at += step->name.size() + 1;  // and the dot
    }
    if (at == path_.size()) throw SettingFault(at - 1, 1, "a path can't end with a dot", {form});
    refuse_components();
    out_.end = end_words("in place of the value at");
    return std::move(out_);
  }

 private:
  /// What `at` begins is not there: keys that may be added, or a mistake.
  void add_missing(std::size_t at, const std::vector<PathStep>& steps) {
    const std::string_view rest = path_.substr(at), word = rest.substr(0, rest.find('.'));
    if (!may_be_added(word, word.size() == rest.size())) refuse_word(at, word, steps);
    while (at <= path_.size()) {
      const std::size_t end = std::min(path_.find('.', at), path_.size());
      if (end == at)
        throw SettingFault(std::min(at, path_.size() - 1), 1, "a path has a key before and behind each dot", {form});
      out_.where.missing.emplace_back(path_.substr(at, end - at));
      out_.where.parts_at.push_back(at);
      at = end + 1;
    }
  }

  /// The reader of the scene judges keys of tables; but a misspelt finish would be a new one.
  bool may_be_added(std::string_view word, bool is_last) const {
    if (node_ == &root_) return std::ranges::find(root_words, word) != root_words.end();
    if (out_.where.path == KeyPath{"finish"}) return is_last;
    return node_->is_table();
  }

  [[noreturn]] void refuse_word(std::size_t at, std::string_view word, const std::vector<PathStep>& steps) const {
    const std::string so_far(path_.substr(0, at == 0 ? 0 : at - 1));
    std::vector<std::string> notes;
    std::string message;
    if (!node_->is_table() && steps.empty()) {
      message = fmt::format("nothing can stand in '{}', {}", so_far, found_text(*node_));
    } else {
      std::vector<std::string_view> words = names_of(steps);
      if (node_ == &root_) std::ranges::copy(root_words, std::back_inserter(words));
      std::ranges::sort(words);
      words.erase(std::unique(words.begin(), words.end()), words.end());
      notes = word_notes(word, words);
      message = node_ == &root_ ? fmt::format("a path can't begin with '{}'", shortened(word))
                                : fmt::format("nothing in '{}' is called '{}'", so_far, shortened(word));
    }
    if (std::string end = end_words("the path ends at"); !end.empty()) notes.push_back(std::move(end));
    throw SettingFault(std::min(at, path_.size() - 1), std::max<std::size_t>(1, word.size()), message,
                       std::move(notes));
  }

  /// Of components and their lists only the keys can be set.
  void refuse_components() const {
    const bool is_of_components = out_.where.path.size() <= 2 && std::ranges::any_of(all_roles, [&](Role role) {
                                    return role_word(role) == out_.where.path.front();
                                  });
    if (!is_of_components) return;
    std::vector<std::string> notes{"allowed: a dot and one of " + joined(names_of(steps_from(*node_)))};
    notes.push_back(end_words("the path ends at"));
    throw SettingFault(0, path_.size(), fmt::format("'{}' is more than one value", path_), std::move(notes));
  }

  std::string end_words(std::string_view lead) const {
    const std::string words = place_words_(*node_);
    return words.empty() ? words : fmt::format("{} {}", lead, words);
  }

  const toml::table& root_;
  std::string_view path_;
  const std::function<std::string(const toml::node&)>& place_words_;
  const toml::node* node_;
  FoundPath out_;
};

}  // namespace

SettingParts parts_of(const std::string& setting) {
  Problems shape({}, setting);
  if (!refuse_non_text(setting, shape) || control_character(setting) ||
      setting.find_first_of("\t\r\n") != std::string::npos)
    throw SettingFault(0, setting.size(), "a setting is one line of text", {form});
  const std::size_t equals = std::min(setting.find('='), setting.size());
  SettingParts out;
  out.path_size = setting.substr(0, equals).find_last_not_of(' ') + 1;
  out.value_at =
      equals == setting.size() ? equals : std::min(setting.find_first_not_of(' ', equals + 1), setting.size());
  if (out.path_size == 0 || out.value_at == setting.size())
    throw SettingFault(0, setting.size(), "a setting needs a path and a value", {form});
  return out;
}

FoundPath find_path(const toml::table& root, std::string_view path,
                    const std::function<std::string(const toml::node&)>& place_words) {
  return PathFinder(root, path, place_words)();
}

SettingValue value_of(const std::string& setting, std::size_t at) {
  SettingValue out;
  out.at = at;
  const std::string typed = setting.substr(at, setting.find_last_not_of(' ') + 1 - at);
  const std::string lead = "x = ", line = lead + typed;
  const bool begins_as_toml = std::string_view("\"'[{").find(typed.front()) != std::string_view::npos;
  Problems depth({}, line);
  if (!refuse_deep_nesting(line, depth)) {
    const Problem deep = depth.take().front();
    throw SettingFault(at, typed.size(), deep.message, deep.notes);
  }
  try {
    const toml::table parsed = toml::parse(std::string_view(line));
    const std::size_t end = end_of_value(line, lead.size());
    out.text = typed;
    if (end == line.size()) return out;
    if (begins_as_toml)
      throw SettingFault(at + end - lead.size(), line.size() - end, "something stands behind the value", {form});
  } catch (const toml::parse_error& fault) {
    if (begins_as_toml) {
      auto [place, message, notes] = explain_toml_fault(line, place_of(fault.source()), fault.description());
      if (typed.find_first_of("\"'") == std::string::npos)
        notes.emplace_back("a shell takes quotes away: the whole setting stands in '...'");
      const std::size_t found = std::max(TextLines(line).offset(place), lead.size()) - lead.size();
      throw SettingFault(std::min(at + found, setting.size() - 1), 1, message, std::move(notes));
    }
  }
  out.text = toml_string(typed);
  out.copied = false;
  return out;
}

}  // namespace catoptra
