#include "scene/write_setting.h"

#include <algorithm>
#include <span>
#include <utility>

namespace catoptra {
namespace {

using Pieces = std::vector<PatchedText::Piece>;

class Writer {
 public:
  Writer(PatchedText& text, int patch, SettingPath where, const SettingValue& value)
      : text_(text), patch_(patch), where_(std::move(where)), value_(value) {
    read();
  }

  void operator()() {
    if (where_.missing.empty()) {
      if (const auto value = value_at(text_.text(), statements_, where_.path)) {
        text_.replace(value->begin, value->end, {value_piece()});
        return;
      }
      take_out();
      climb();
    }
    while (!where_.path.empty() && !is_there()) climb();
    insert();
  }

 private:
  void read() { statements_ = statements_of(text_.text()); }

  void take_out() {
    std::vector<Stretch> lines;
    for (const Statement& statement : statements_)
      if (is_within(statement.path, where_.path)) lines.push_back(statement.lines);
    std::ranges::reverse(lines);
    for (const Stretch& stretch : lines) text_.replace(stretch.begin, stretch.end, {});
    read();
  }

  /// The last key of the path is one that is missing.
  void climb() {
    where_.missing.insert(where_.missing.begin(), std::move(where_.path.back()));
    where_.parts_at.insert(where_.parts_at.begin(), where_.parts_at.empty() ? where_.last_at : where_.parts_at.front());
    where_.path.pop_back();
  }

  bool is_there() const {
    return value_at(text_.text(), statements_, where_.path) ||
           std::ranges::any_of(statements_, [&](const Statement& s) { return is_within(s.path, where_.path); });
  }

  PatchedText::Piece plain(std::string text) const { return {std::move(text), {patch_, 0}, false}; }
  PatchedText::Piece value_piece() const { return {value_.text, {patch_, value_.at}, value_.copied}; }

  /// "a.b = value"; `before` are keys that the text has, but whose table can be reached by its dotted name alone.
  void add_pair(Pieces& out, std::span<const std::string> before) const {
    for (const std::string& key : before) out.push_back(plain(toml_key(key) + "."));
    for (std::size_t i = 0; i < where_.missing.size(); ++i) {
      if (i > 0) out.push_back(plain("."));
      out.push_back({toml_key(where_.missing[i]), {patch_, where_.parts_at[i]}, false});
    }
    out.push_back(plain(" = "));
    out.push_back(value_piece());
  }

  void insert() {
    if (!where_.path.empty()) {
      if (const auto table = value_at(text_.text(), statements_, where_.path)) return insert_inline(*table);
    }
    if (where_.path.empty()) return insert_at_root();
    const auto is_header = [&](const Statement& s) { return s.kind != Statement::Kind::pair && s.path == where_.path; };
    const auto header = std::ranges::find_if(statements_, is_header);
    if (header != statements_.end()) {
      auto last = header;
      while (std::next(last) != statements_.end() && std::next(last)->kind == Statement::Kind::pair) ++last;
      return insert_line(*last, {});
    }
    const auto is_dotted = [&](const Statement& s) {
      return s.kind == Statement::Kind::pair && s.header_parts <= where_.path.size() && is_within(s.path, where_.path);
    };
    const auto dotted = std::find_if(statements_.rbegin(), statements_.rend(), is_dotted);
    if (dotted != statements_.rend())
      return insert_line(*dotted, std::span<const std::string>(where_.path).subspan(dotted->header_parts));
    insert_header();
  }

  void insert_inline(const Stretch& table) {
    const InlineContent content = inline_content(text_.text(), table.begin);
    Pieces pieces;
    if (!content.entries.empty()) {
      pieces.push_back(plain(", "));
      add_pair(pieces, {});
      const std::size_t at = content.entries.back().value.end;
      text_.replace(at, at, pieces);
    } else {
      pieces.push_back(plain(" "));
      add_pair(pieces, {});
      pieces.push_back(plain(" "));
      text_.replace(table.begin + 1, content.closing, pieces);
    }
  }

  std::string line_end() const { return text_.text().find("\r\n") == std::string::npos ? "\n" : "\r\n"; }

  /// Behind a statement, set in as far as that.
  void insert_line(const Statement& after, std::span<const std::string> before) {
    const std::string& text = text_.text();
    Pieces pieces;
    if (text[after.lines.end - 1] != '\n') pieces.push_back(plain(line_end()));
    pieces.push_back(plain(text.substr(after.lines.begin, after.key - after.lines.begin)));
    add_pair(pieces, before);
    pieces.push_back(plain(line_end()));
    text_.replace(after.lines.end, after.lines.end, pieces);
  }

  void insert_at_root() {
    const auto in_header = [](const Statement& s) { return s.kind != Statement::Kind::pair; };
    const auto first = std::ranges::find_if(statements_, in_header);
    if (first != statements_.begin()) return insert_line(*std::prev(first), {});
    Pieces pieces;
    add_pair(pieces, {});
    pieces.push_back(plain(line_end()));
    const std::size_t at = text_.text().starts_with("\xEF\xBB\xBF") ? 3 : 0;
    text_.replace(at, at, pieces);
  }

  /// A table that has headers of inner tables alone gets its own, before them.
  void insert_header() {
    const auto inner =
        std::ranges::find_if(statements_, [&](const Statement& s) { return is_within(s.path, where_.path); });
    Pieces pieces;
    std::string header;
    for (const std::string& key : header_of(*inner)) header += (header.empty() ? "" : ".") + toml_key(key);
    pieces.push_back(plain("[" + header + "]" + line_end()));
    add_pair(pieces, {});
    pieces.push_back(plain(line_end()));
    text_.replace(inner->lines.begin, inner->lines.begin, pieces);
  }

  /// The keys of the table at the path, as a header names them, that is without the numbers of elements.
  KeyPath header_of(const Statement& inner) const {
    const KeyPath written = header_keys(text_.text(), inner);
    KeyPath out;
    for (const std::string& part : where_.path)
      if (out.size() < written.size() && part == written[out.size()]) out.push_back(part);
    return out;
  }

  PatchedText& text_;
  int patch_;
  SettingPath where_;
  const SettingValue& value_;
  std::vector<Statement> statements_;
};

}  // namespace

void write_setting(PatchedText& text, int patch, SettingPath where, const SettingValue& value) {
  Writer(text, patch, std::move(where), value)();
}

}  // namespace catoptra
