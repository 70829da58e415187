#pragma once
// Walks over TOML text that no parser has seen yet and knows what stands in quotes or in a comment.
#include <cstddef>
#include <string_view>

namespace catoptra {

class TomlWalker {
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
      opened_at_ = at;
      triple_ = text.substr(at, 3) == std::string_view(c == '"' ? "\"\"\"" : "'''");
      skip = triple_ ? 2 : 0;
    }
    return c != '#' && c != '"' && c != '\'';
  }

  bool in_quotes() const { return quote_ != 0; }
  bool in_three_quotes() const { return quote_ != 0 && triple_; }
  /// Where the last quote was opened.
  std::size_t opened_at() const { return opened_at_; }

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
  std::size_t opened_at_ = 0;
};

}  // namespace catoptra
