#include "scene/ascii_keys.h"

#include <algorithm>
#include <cstddef>

namespace catoptra {
namespace {

/// Walks over TOML text and knows whether it is inside quotes or a comment.
class Walker {
 public:
  /// True where `text[at]` stands outside quotes and comments. Call with each position once, in order; `skip` tells how
  /// many of the following bytes belong to the same delimiter.
  bool is_plain(std::string_view text, std::size_t at, std::size_t& skip) {
    skip = 0;
    const char c = text[at];
    if (in_comment_) {
      if (c == '\n') in_comment_ = false;
      return false;
    }
    if (quote_ != 0) {
      step_in_quotes(text, at, skip);
      return false;
    }
    if (c == '#') in_comment_ = true;
    if (c == '"' || c == '\'') {
      quote_ = c;
      triple_ = text.substr(at, 3) == std::string_view(c == '"' ? "\"\"\"" : "'''");
      skip = triple_ ? 2 : 0;
    }
    return c != '#' && c != '"' && c != '\'';
  }

 private:
  void step_in_quotes(std::string_view text, std::size_t at, std::size_t& skip) {
    const char c = text[at];
    if (c == '\\' && quote_ == '"') {
      skip = 1;
    } else if (!triple_ && (c == quote_ || c == '\n')) {  // an unclosed text ends with its line: the parser will say so
      quote_ = 0;
    } else if (triple_ && c == quote_ && text.substr(at, 3) == std::string_view(c == '"' ? "\"\"\"" : "'''")) {
      // Up to two quotes more may stand directly before the closing three.
      std::size_t run = 3;
      while (run < 5 && at + run < text.size() && text[at + run] == c) ++run;
      skip = run - 1;
      quote_ = 0;
    }
  }

  char quote_ = 0;
  bool triple_ = false, in_comment_ = false;
};

}  // namespace

bool refuse_plain_non_ascii(std::string_view toml_text, Problems& problems) {
  Walker walker;
  int line = 1, column = 0, reported_line = 0;
  std::size_t skip = 0;
  const std::size_t begin = toml_text.starts_with("\xEF\xBB\xBF") ? 3 : 0;  // a byte order mark
  for (std::size_t at = begin; at < toml_text.size(); ++at) {
    const auto byte = static_cast<unsigned char>(toml_text[at]);
    if ((byte & 0xC0U) != 0x80U) ++column;
    if (skip > 0) {
      --skip;
    } else if (walker.is_plain(toml_text, at, skip) && byte >= 0x80U && line != reported_line) {
      // A stray continuation byte at a line's begin has counted as no character.
      problems.error({line, std::max(1, column), 1}, "a character beyond ASCII outside quotes",
                     {"allowed: letters a to z, digits, - and _ in a key; anything in quotes or a comment"});
      reported_line = line;
    }
    if (toml_text[at] == '\n') {
      ++line;
      column = 0;
    }
  }
  return reported_line == 0;
}

}  // namespace catoptra
