#pragma once
// Where keys and values stand in the bytes of a TOML text, for changes that leave all other bytes alone. The parser
// tells where a value begins; this tells where it ends, and what a new key may stand behind.
#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace catoptra {

/// Keys from the root on; an element of an array by its number from 0.
using KeyPath = std::vector<std::string>;

/// Bytes of a text, the end not among them.
struct Stretch {
  std::size_t begin = 0, end = 0;
};

/// A line, or several that belong together, that says something: a header or a key with its value.
struct Statement {
  enum class Kind { table, array_table, pair };
  Kind kind = Kind::pair;
  KeyPath path;
  std::size_t header_parts = 0;  // of a pair's path: those that the header above it gives
  Stretch lines;                 // from the first line's begin to behind the last one's end
  std::size_t key = 0;           // where the key or the header begins
  Stretch value;                 // of a pair
};

/// `toml_text` is one that the parser takes.
std::vector<Statement> statements_of(std::string_view toml_text);

/// The keys of a header as it stands there, without the numbers of elements.
KeyPath header_keys(std::string_view toml_text, const Statement& header);

/// What stands in an inline table or array that begins at `begin`.
struct InlineEntry {
  KeyPath path;  // of an array's element: its number
  Stretch value;
};
struct InlineContent {
  std::vector<InlineEntry> entries;
  std::size_t closing = 0;  // where the bracket stands that closes it
};
InlineContent inline_content(std::string_view toml_text, std::size_t begin);

/// Where the value that begins at `begin` ends.
std::size_t end_of_value(std::string_view toml_text, std::size_t begin);

bool is_within(std::span<const std::string> path, std::span<const std::string> outer);

/// The value at `path`, where one statement or an inline table or array holds it; none for a table with statements of
/// its own, and for what is not there.
std::optional<Stretch> value_at(std::string_view toml_text, std::span<const Statement> statements,
                                std::span<const std::string> path);

/// A key as TOML writes it, in quotes where it must.
std::string toml_key(std::string_view key);
/// A text in quotes; control characters as escapes.
std::string toml_string(std::string_view text);

}  // namespace catoptra
