#include "scene/read_kind.h"

#include <algorithm>
#include <fmt/format.h>

#include "scene/words.h"

namespace catoptra {

std::string kind_example(std::span<const std::string_view> words) {
  return fmt::format("{{ kind = \"{}\", ... }}; kinds: {}", words.front(), joined(words));
}

const toml::table* table_in(const toml::node& node, std::string_view key, const std::string& what,
                            const std::string& example, Problems& problems) {
  if (const auto* table = node.as_table()) return table;
  problems.error(place_of(node.source()), fmt::format("wrong type for '{}' in {}", key, what),
                 {"found: " + found_text(node), "allowed: " + example});
  return nullptr;
}

std::optional<std::size_t> read_kind_word(TableReader& reader, std::span<const std::string_view> words) {
  const toml::node* node = reader.find("kind");
  if (node == nullptr) {
    // Without it no other key can be judged, so this is said even where a misspelt one may stand.
    reader.problems().error(reader.place(), fmt::format("missing key 'kind' in {}", reader.what()),
                            {"allowed: " + joined(words)});
    return std::nullopt;
  }
  const auto* word = node->as_string();
  if (word == nullptr) {
    reader.problems().error(place_of(node->source()), fmt::format("wrong type for 'kind' in {}", reader.what()),
                            {"found: " + found_text(*node), "allowed: " + joined(words)});
    return std::nullopt;
  }
  const auto at = std::ranges::find(words, std::string_view(word->get()));
  if (at != words.end()) return static_cast<std::size_t>(at - words.begin());
  std::vector<std::string> notes = word_notes(word->get(), words);
  // found_text cuts what is too long for a line.
  reader.problems().error(place_of(node->source()),
                          fmt::format("unknown kind in {}: {}", reader.what(), found_text(*node)), std::move(notes));
  return std::nullopt;
}

}  // namespace catoptra
