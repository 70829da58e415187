#include "scene/toml_layout.h"

#include <algorithm>
#include <fmt/format.h>
#include <map>
#include <toml++/toml.h>

namespace catoptra {
namespace {

constexpr std::string_view bare = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-";

/// Steps over bytes of a text that is known to be TOML.
class Scanner {
 public:
  Scanner(std::string_view text, std::size_t at) : text_(text), at_(at) {}

  std::size_t at() const { return at_; }
  bool at_end() const { return at_ >= text_.size(); }
  char now() const { return at_end() ? '\0' : text_[at_]; }
  void step() { at_ = std::min(at_ + 1, text_.size()); }

  void skip_blanks() { at_ = std::min(text_.find_first_not_of(" \t", at_), text_.size()); }

  /// To behind the line's end.
  void skip_line() {
    const auto end = text_.find('\n', at_);
    at_ = end == std::string_view::npos ? text_.size() : end + 1;
  }

  /// Blanks, line ends and comments, as they may stand in an array.
  void skip_gaps() {
    for (;;) {
      at_ = std::min(text_.find_first_not_of(" \t\r\n", at_), text_.size());
      if (now() != '#') return;
      skip_line();
    }
  }

  void skip_string() {
    const char quote = now();
    const std::string triple(3, quote);
    const bool is_long = text_.substr(at_, 3) == triple;
    at_ += is_long ? 3 : 1;
    while (!at_end()) {
      if (quote == '"' && now() == '\\') {
        at_ += 2;
      } else if (is_long && text_.substr(at_, 3) == triple) {
        // Up to two quotes more may stand directly before the closing three.
        at_ += 3;
        for (int more = 0; more < 2 && now() == quote; ++more) ++at_;
        return;
      } else if (!is_long && now() == quote) {
        ++at_;
        return;
      } else {
        ++at_;
      }
    }
  }

  void skip_value() {
    const char first = now();
    if (first == '"' || first == '\'') {
      skip_string();
    } else if (first == '[' || first == '{') {
      at_ = inline_content(text_, at_).closing;
      step();
    } else {
      // A date and its time may have one blank between them, so blanks count from the back.
      at_ = std::min(text_.find_first_of(",]}#\r\n", at_), text_.size());
      while (at_ > 0 && (text_[at_ - 1] == ' ' || text_[at_ - 1] == '\t')) --at_;
    }
  }

  /// Parts with dots between them.
  KeyPath key() {
    KeyPath out;
    for (;;) {
      skip_blanks();
      const std::size_t begin = at_;
      if (now() == '"' || now() == '\'') {
        skip_string();
        out.push_back(unquoted(text_.substr(begin, at_ - begin)));
      } else {
        at_ = std::min(text_.find_first_not_of(bare, at_), text_.size());
        out.emplace_back(text_.substr(begin, at_ - begin));
      }
      const std::size_t end = at_;
      skip_blanks();
      if (now() != '.') {
        at_ = end;
        return out;
      }
      step();
    }
  }

 private:
  static std::string unquoted(std::string_view quoted) {
    const toml::table one = toml::parse("x = " + std::string(quoted));
    return one["x"].value_or(std::string());
  }

  std::string_view text_;
  std::size_t at_;
};

/// Headers name elements of arrays of tables without their number: it is that of the last one so far.
class HeaderPaths {
 public:
  KeyPath of_table(const KeyPath& header) const { return numbered(header); }
  KeyPath of_array(const KeyPath& header) {
    KeyPath path = numbered(KeyPath(header.begin(), header.end() - 1));
    path.push_back(header.back());
    const int number = counts_[path]++;
    path.push_back(std::to_string(number));
    return path;
  }

 private:
  KeyPath numbered(const KeyPath& header) const {
    KeyPath path;
    for (const std::string& part : header) {
      path.push_back(part);
      const auto found = counts_.find(path);
      if (found != counts_.end()) path.push_back(std::to_string(found->second - 1));
    }
    return path;
  }

  std::map<KeyPath, int> counts_;
};

std::optional<Stretch> value_within(std::string_view text, Stretch value, std::span<const std::string> path) {
  if (path.empty()) return value;
  if (text[value.begin] != '{' && text[value.begin] != '[') return std::nullopt;
  for (const InlineEntry& entry : inline_content(text, value.begin).entries)
    if (is_within(path, entry.path)) {
      if (const auto found = value_within(text, entry.value, path.subspan(entry.path.size()))) return found;
    }
  return std::nullopt;
}

}  // namespace

bool is_within(std::span<const std::string> path, std::span<const std::string> outer) {
  return path.size() >= outer.size() && std::ranges::equal(path.first(outer.size()), outer);
}

std::size_t end_of_value(std::string_view toml_text, std::size_t begin) {
  Scanner scanner(toml_text, begin);
  scanner.skip_value();
  return scanner.at();
}

InlineContent inline_content(std::string_view toml_text, std::size_t begin) {
  InlineContent out;
  Scanner scanner(toml_text, begin);
  const bool is_table = scanner.now() == '{';
  scanner.step();
  for (;;) {
    scanner.skip_gaps();
    if (scanner.at_end() || scanner.now() == '}' || scanner.now() == ']') break;
    InlineEntry entry;
    if (is_table) {
      entry.path = scanner.key();
      scanner.skip_blanks();
      scanner.step();  // =
      scanner.skip_blanks();
    } else {
      entry.path = {std::to_string(out.entries.size())};
    }
    const std::size_t from = scanner.at();
    scanner.skip_value();
    entry.value = {from, scanner.at()};
    out.entries.push_back(std::move(entry));
    scanner.skip_gaps();
    if (scanner.now() == ',') scanner.step();
  }
  out.closing = scanner.at();
  return out;
}

std::vector<Statement> statements_of(std::string_view toml_text) {
  std::vector<Statement> out;
  HeaderPaths headers;
  KeyPath header;
  Scanner scanner(toml_text, toml_text.starts_with("\xEF\xBB\xBF") ? 3 : 0);
  while (!scanner.at_end()) {
    Statement statement;
    statement.lines.begin = scanner.at();
    scanner.skip_blanks();
    statement.key = scanner.at();
    if (scanner.now() == '#' || scanner.now() == '\r' || scanner.now() == '\n' || scanner.at_end()) {
      scanner.skip_line();
      continue;
    }
    if (scanner.now() == '[') {
      scanner.step();
      const bool is_array = scanner.now() == '[';
      if (is_array) scanner.step();
      statement.kind = is_array ? Statement::Kind::array_table : Statement::Kind::table;
      const KeyPath key = scanner.key();
      header = is_array ? headers.of_array(key) : headers.of_table(key);
      statement.path = header;
    } else {
      statement.path = header;
      statement.header_parts = header.size();
      for (std::string& part : scanner.key()) statement.path.push_back(std::move(part));
      scanner.skip_blanks();
      scanner.step();  // =
      scanner.skip_blanks();
      statement.value.begin = scanner.at();
      scanner.skip_value();
      statement.value.end = scanner.at();
    }
    scanner.skip_line();
    statement.lines.end = scanner.at();
    out.push_back(std::move(statement));
  }
  return out;
}

KeyPath header_keys(std::string_view toml_text, const Statement& header) {
  const std::size_t brackets = header.kind == Statement::Kind::array_table ? 2 : 1;
  return Scanner(toml_text, header.key + brackets).key();
}

std::optional<Stretch> value_at(std::string_view toml_text, std::span<const Statement> statements,
                                std::span<const std::string> path) {
  for (const Statement& statement : statements)
    if (statement.kind == Statement::Kind::pair && is_within(path, statement.path)) {
      if (const auto found = value_within(toml_text, statement.value, path.subspan(statement.path.size())))
        return found;
    }
  return std::nullopt;
}

std::string toml_key(std::string_view key) {
  const bool is_bare = !key.empty() && key.find_first_not_of(bare) == std::string_view::npos;
  return is_bare ? std::string(key) : toml_string(key);
}

std::string toml_string(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (byte < 0x20 || byte == 0x7F) {
      out += fmt::format("\\u{:04X}", byte);
    } else {
      out += c;
    }
  }
  return out + "\"";
}

}  // namespace catoptra
