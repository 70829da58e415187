#include "scene/table_reader.h"

#include <algorithm>
#include <fmt/format.h>

#include "scene/words.h"

namespace catoptra {

Place place_of(const toml::source_region& region) {
  const int line = static_cast<int>(region.begin.line), column = static_cast<int>(region.begin.column);
  // What runs over several lines is marked to the end of its first: the message cuts the width there.
  const int width = region.end.line == region.begin.line ? static_cast<int>(region.end.column) - column : 10000;
  return {line, column, std::max(1, width)};
}

namespace {

void add_places(const toml::table& table, const std::string& before, KeyPlaces::Map& out) {
  for (const auto& [key, node] : table) {
    const std::string path = before + std::string(key.str());
    // An implicit table has no place of its own: its name has.
    out.emplace(path, place_of(node.source().begin ? node.source() : key.source()));
    if (const auto* inner = node.as_table()) add_places(*inner, path + ".", out);
  }
}

}  // namespace

KeyPlaces places_in(const toml::table& table, Place place) {
  KeyPlaces::Map out{{std::string(), place}};
  add_places(table, {}, out);
  return KeyPlaces(std::move(out));
}

const toml::node* TableReader::find(std::string_view key) {
  if (std::ranges::find(known_, key) == known_.end()) known_.push_back(key);
  return table_.get(key);
}

const toml::node* TableReader::require(std::string_view key, std::string allowed) {
  const toml::node* node = find(key);
  if (node == nullptr) missing_.push_back({key, std::move(allowed)});
  return node;
}

std::optional<Value> TableReader::read(const KeyInfo& key) {
  const toml::node* node = key.need == Need::required ? require(key.key, allowed_text(key)) : find(key.key);
  if (node == nullptr) return std::nullopt;
  return read_value(*node, key, what_, reading_);
}

std::optional<std::string> TableReader::text(std::string_view key, Need need) {
  auto value = read({.key = key, .type = ValueType::text, .need = need});
  if (!value) return std::nullopt;
  return std::get<std::string>(std::move(*value));
}

std::vector<std::string_view> TableReader::finish() {
  std::vector<std::string_view> suggested;
  for (const auto& [key, node] : table_) {
    if (std::ranges::find(known_, key.str()) != known_.end()) continue;
    if (const auto nearest = nearest_word(key.str(), known_)) suggested.push_back(*nearest);
    reading_.problems.error(place_of(key.source()), fmt::format("unknown key '{}' in {}", shortened(key.str()), what_),
                            reading_.problems.is_full() ? std::vector<std::string>() : word_notes(key.str(), known_));
  }
  for (auto& [key, allowed] : missing_) {
    // A misspelt key is one mistake, not two.
    if (std::ranges::find(suggested, key) != suggested.end()) continue;
    reading_.problems.error(place_, fmt::format("missing key '{}' in {}", key, what_), {"allowed: " + allowed});
  }
  return suggested;
}

Place TableReader::place_of_value(std::string_view key) const {
  const toml::node* node = table_.get(key);
  return node == nullptr ? place_ : place_of(node->source());
}

}  // namespace catoptra
