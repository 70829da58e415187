#include "scene/toml_fault.h"

#include <algorithm>
#include <fmt/format.h>
#include <iterator>
#include <optional>
#include <tuple>
#include <utility>

#include "scene/toml_walker.h"
#include "scene/words.h"

namespace catoptra {
namespace {

using View = std::string_view;

View trimmed(View text) {
  const auto first = text.find_first_not_of(" \t\r");
  if (first == View::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\r") - first + 1);
}
bool is_digit(char c) {
  return c >= '0' && c <= '9';
}
bool is_letter(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}
bool all_digits(View text) {
  return !text.empty() && std::ranges::all_of(text, is_digit);
}
View without_sign(View text) {
  return text.starts_with('-') || text.starts_with('+') ? text.substr(1) : text;
}
bool contains(View text, View part) {
  return text.find(part) != View::npos;
}

/// Byte of a line at which its `column`-th character begins.
std::size_t byte_of(View line, int column) {
  int characters = 0;
  for (std::size_t at = 0; at < line.size(); ++at) {
    if ((static_cast<unsigned char>(line[at]) & 0xC0U) != 0x80U && ++characters == column) return at;
  }
  return line.size();
}
int column_of(View line, std::size_t byte) {
  return 1 + static_cast<int>(std::ranges::count_if(
                 line.substr(0, byte), [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

/// The text round the place where the parser stopped.
struct Spot {
  View text;
  int line_number = 1;
  View line;                         // without its end
  std::size_t at = 0;                // byte in the line
  std::size_t begin = 0;             // of the line in the text
  char opened = 0;                   // innermost bracket that is open there, 0 for none
  std::size_t opening = 0;           // its byte in the text
  std::optional<std::size_t> quote;  // byte in the text of a quote that is open there
  bool three_quotes = false;

  Place place(std::size_t from, std::size_t to) const {
    const int column = column_of(line, from);
    return {line_number, column, std::max(1, column_of(line, to) - column)};
  }
  Place place_in_text(std::size_t byte, int width) const {
    const auto number = static_cast<int>(std::ranges::count(text.substr(0, byte), '\n'));
    const auto start = byte == 0 ? View::npos : text.rfind('\n', byte - 1);
    const std::size_t first = start == View::npos ? 0 : start + 1;
    return {number + 1, column_of(text.substr(first), byte - first), width};
  }
};

Spot spot_at(View text, Place stop) {
  Spot out{.text = text, .line_number = std::max(1, stop.line)};
  for (int line = 1; line < out.line_number; ++line) {
    const auto end = text.find('\n', out.begin);
    if (end == View::npos) break;
    out.begin = end + 1;
  }
  out.line = text.substr(out.begin, std::min(text.find('\n', out.begin), text.size()) - out.begin);
  if (out.line.ends_with('\r')) out.line.remove_suffix(1);
  out.at = byte_of(out.line, std::max(1, stop.column));
  TomlWalker walker;
  std::vector<std::pair<char, std::size_t>> open;
  std::size_t skip = 0;
  for (std::size_t i = text.starts_with("\xEF\xBB\xBF") ? 3 : 0; i < std::min(out.begin + out.at, text.size()); ++i) {
    if (skip > 0) {
      --skip;
    } else if (walker.is_plain(text, i, skip)) {
      if (text[i] == '[' || text[i] == '{') open.emplace_back(text[i], i);
      if ((text[i] == ']' || text[i] == '}') && !open.empty()) open.pop_back();
    }
  }
  if (!open.empty()) std::tie(out.opened, out.opening) = open.back();
  if (walker.in_quotes()) out.quote = walker.opened_at();
  out.three_quotes = walker.in_three_quotes();
  return out;
}

/// The nearest table's name above a place: "primary" under [[primary]]; empty at the top.
std::string header_above(const Spot& spot) {
  for (std::size_t end = spot.begin; end > 0;) {
    const auto start = end >= 2 ? spot.text.rfind('\n', end - 2) : View::npos;
    const std::size_t begin = start == View::npos ? 0 : start + 1;
    View line = trimmed(spot.text.substr(begin, end - 1 - begin));
    if (line.starts_with('[')) {
      line.remove_prefix(std::min(line.find_first_not_of('['), line.size()));
      return shortened(trimmed(line.substr(0, line.find(']'))));
    }
    end = begin;
  }
  return {};
}

/// The value round the stop and the key before it, within one line.
struct Piece {
  std::size_t begin = 0, end = 0;  // of the value in the line
  View value, key;
};

Piece piece_at(const Spot& spot) {
  Piece out;
  // Delimiters outside quotes, on this line.
  std::vector<std::size_t> marks;
  TomlWalker walker;
  std::size_t skip = 0, comment = spot.line.size();
  for (std::size_t i = 0; i < spot.line.size(); ++i) {
    if (skip > 0) {
      --skip;
    } else if (walker.is_plain(spot.line, i, skip)) {
      if (contains("=,[]{}", View(&spot.line[i], 1))) marks.push_back(i);
    } else if (spot.line[i] == '#' && !walker.in_quotes() && comment == spot.line.size()) {
      comment = i;
    }
  }
  const std::size_t at = std::min(spot.at, comment);
  const bool comma_ends_number = spot.opened == 0;  // "x = 1,5": no list here
  out.end = comment;
  for (const std::size_t mark : marks) {
    if (comma_ends_number && spot.line[mark] == ',') continue;
    if (mark < at) {
      out.begin = mark + 1;
    } else {
      out.end = mark;
      break;
    }
  }
  while (out.begin < out.end && (spot.line[out.begin] == ' ' || spot.line[out.begin] == '\t')) ++out.begin;
  while (out.end > out.begin && (spot.line[out.end - 1] == ' ' || spot.line[out.end - 1] == '\t')) --out.end;
  out.value = spot.line.substr(out.begin, out.end - out.begin);
  const auto equals =
      std::find_if(marks.rbegin(), marks.rend(), [&](std::size_t mark) { return mark < at && spot.line[mark] == '='; });
  if (equals != marks.rend()) {
    std::size_t from = 0;
    for (const std::size_t mark : marks) {
      if (mark < *equals) from = mark + 1;
    }
    out.key = trimmed(spot.line.substr(from, *equals - from));
  }
  return out;
}

bool is_formula(View value) {
  if (contains(value, "(") || contains(value, "*") || contains(value, "/") || contains(value, "^")) return true;
  if (value == "pi" || value == "-pi") return true;
  // A sign between two digits, unless it is an exponent's or a date's.
  const auto sign = value.find_first_of("+-", 1);
  return sign != View::npos && is_digit(value.front()) && is_digit(value[sign - 1]) &&
         std::ranges::count(value, '-') + std::ranges::count(value, '+') == 1;
}

/// "2026-03-20" with anything behind.
bool begins_as_date(View value) {
  return value.size() >= 10 && all_digits(value.substr(0, 4)) && value[4] == '-' && all_digits(value.substr(5, 2)) &&
         value[7] == '-' && all_digits(value.substr(8, 2));
}
/// A date and an hour without seconds or without offset, filled up.
std::optional<std::string> whole_time(View value) {
  if (!begins_as_date(value) || value.size() < 16 || (value[10] != 'T' && value[10] != ' ')) return std::nullopt;
  if (!all_digits(value.substr(11, 2)) || value[13] != ':' || !all_digits(value.substr(14, 2))) return std::nullopt;
  std::string out(value.substr(0, 16));
  out[10] = 'T';
  View rest = value.substr(16);
  if (rest.size() >= 3 && rest[0] == ':' && all_digits(rest.substr(1, 2))) {
    out += rest.substr(0, 3);
    rest.remove_prefix(3);
  } else {
    out += ":00";
  }
  rest = trimmed(rest);
  const bool offset = rest == "Z" || (rest.size() == 6 && (rest[0] == '+' || rest[0] == '-') && rest[3] == ':');
  return out + (offset ? std::string(rest) : "+01:00");
}

/// What a number that TOML refuses is in TOML; none where it is no number or its meaning is not plain.
std::optional<std::string> mended_number(View value) {
  const View sign = value.substr(0, value.size() - without_sign(value).size());
  View body = without_sign(value);
  const auto signed_text = [&](const std::string& text) { return (sign == "-" ? "-" : "") + text; };
  if (body.size() > 1 && body[0] == '.' && all_digits(body.substr(1))) return signed_text("0" + std::string(body));
  if (body.size() > 1 && body.ends_with('.') && all_digits(body.substr(0, body.size() - 1)))
    return signed_text(std::string(body) + "0");
  if (body.size() > 1 && body[0] == '0' && body.find_first_not_of("0123456789.") == View::npos) {
    body.remove_prefix(std::min(body.find_first_not_of('0'), body.size() - 1));
    return signed_text((body[0] == '.' ? "0" : "") + std::string(body));
  }
  if (const auto comma = body.find(',');
      comma != View::npos && all_digits(body.substr(0, comma)) && all_digits(trimmed(body.substr(comma + 1))))
    return signed_text(std::string(body.substr(0, comma)) + "." + std::string(trimmed(body.substr(comma + 1))));
  if (body.size() > 4 && is_digit(body[0]) && body.find_first_of(" '") != View::npos &&
      body.find_first_not_of("0123456789 '") == View::npos) {
    std::string joined;
    std::ranges::copy_if(body, std::back_inserter(joined), is_digit);
    return signed_text(joined);
  }
  return std::nullopt;
}

/// "20 m", "5°", "20%": where the unit begins.
bool is_number_with_unit(View value) {
  const auto end = without_sign(value).find_first_not_of("0123456789.");
  if (end == View::npos || end == 0) return false;
  const View unit = trimmed(without_sign(value).substr(end));
  return !unit.empty() && unit.size() <= 12 && (is_letter(unit[0]) || unit[0] == '%') &&
         unit.find_first_of(" \t=\"'") == View::npos &&
         !((unit[0] == 'e' || unit[0] == 'E') &&
           without_sign(unit.substr(1)).find_first_not_of("0123456789") == View::npos);
}

constexpr const char* lines_allowed =
    "allowed: key = value; a table's name as [sun]; one of several tables as [[primary]]; # and a comment";

TomlFault faulty_value(const Spot& spot, const Piece& piece) {
  const Place place = spot.place(piece.begin, piece.end);
  const View value = piece.value;
  const std::string key = shortened(piece.key);
  const auto as_written = [&](const std::string& what) {
    return "allowed: " + shortened(spot.opened == '[' || key.empty() ? what : fmt::format("{} = {}", key, what));
  };
  if (trimmed(spot.line.substr(piece.end)).starts_with('='))
    return {place, "a second key on this line", {"allowed: each key on its own line, or { a = 1, b = 2 }"}};
  if (value.empty() && !key.empty())
    return {place,
            fmt::format("'{}' has no value", key),
            {"allowed: a number, a text in quotes, true, false, a list [..., ...] or a table { ... }"}};
  if (value.empty())
    return {place,
            "a value is missing",
            {"allowed: a number, a text in quotes, true, false, a list [..., ...] or a table { ... }"}};
  if (value.ends_with(';'))
    return {spot.place(piece.end - 1, piece.end),
            "a line must not end with ';'",
            {as_written(std::string(trimmed(value.substr(0, value.size() - 1))))}};
  if (contains(value, " //"))
    return {spot.place(piece.begin + value.find("//"), piece.end), "a comment must begin with #", {}};
  if (const auto time = whole_time(value); time && time->size() != value.size())
    return {place, "a time needs seconds and an offset from UTC", {as_written(*time)}};
  if (begins_as_date(value))
    return {place, "this date or time does not exist", {as_written("2026-06-21T12:30:00+01:00")}};
  if (const auto number = mended_number(value))
    return {place, "TOML writes this number differently", {as_written(*number)}};
  if (value == "True" || value == "TRUE" || value == "False" || value == "FALSE")
    return {place, "true and false must be in small letters", {as_written(value[0] == 'T' ? "true" : "false")}};
  if (is_formula(value))
    return {place, "formulas are not allowed", {"allowed: the number itself, as 0.342 or -1.5e-3"}};
  if (is_number_with_unit(value))
    return {place, "a number takes no unit", {"the unit is part of the key's name, as in diameter_m = 8"}};
  if (all_digits(without_sign(value)) || (is_digit(without_sign(value)[0]) && contains(value, "e")))
    return {place, "this number is too large or not complete", {"allowed: as 250, 0.342 or -1.5e-3"}};
  if (spot.opened == '[' && contains(value, " "))
    return {place, "the values of a list need commas between them", {"allowed: [1, 2, 3]"}};
  if (is_letter(value[0])) return {place, "a text needs quotes", {as_written(fmt::format("\"{}\"", value))}};
  if (value[0] == '"' || value[0] == '\'')
    return {place,
            "something follows after this text",
            {"allowed: one value for a key; the other kind of quotes inside a text"}};
  return {place,
          "this is not a value",
          {"allowed: a number, a text in quotes, true, false, a list [..., ...] or a table { ... }"}};
}

TomlFault repeated(const Spot& spot, View words) {
  const View line = trimmed(spot.line);
  const std::size_t begin = line.empty() ? 0 : static_cast<std::size_t>(line.data() - spot.line.data());
  const auto quote = words.find('\'');
  const std::string name =
      shortened(quote == View::npos ? "this name" : words.substr(quote, words.find('\'', quote + 1) - quote + 1));
  if (line.starts_with('['))
    return {spot.place(begin, begin + line.size()),
            fmt::format("{} is already used above", name),
            {"allowed: [NAME] once; [[NAME]], in two brackets, for each of several components"}};
  const auto equals = spot.line.rfind('=', spot.at);
  return {spot.place(begin, equals == View::npos || equals <= begin ? begin + line.size() : equals),
          fmt::format("{} is already set above", name),
          {"allowed: each key once in a table"}};
}

TomlFault faulty_line(const Spot& spot) {
  const View line = trimmed(spot.line.substr(0, spot.line.find('#')));
  const std::size_t begin = line.empty() ? 0 : static_cast<std::size_t>(line.data() - spot.line.data());
  const Place place = spot.place(begin, begin + line.size());
  if (line.starts_with("//") || line.starts_with("--") || line.starts_with("%") || line.starts_with(";"))
    return {place, "a comment must begin with #", {}};
  if (line.starts_with('['))
    return {place, "this is not a table's name", {"allowed: [sun] for one table, [[primary]] for each of several"}};
  const auto colon = line.find(':'), equals = line.find('=');
  if (colon != View::npos && colon < equals)
    return {place,
            "a key and its value need '=' between them",
            {fmt::format("allowed: {} = {}", shortened(trimmed(line.substr(0, colon))),
                         shortened(trimmed(line.substr(colon + 1))))}};
  if (equals != View::npos && contains(trimmed(line.substr(0, equals)), " "))
    return {place, "a key must be one word", {"allowed: letters a to z, digits, - and _"}};
  return {place, "this line is not TOML", {lines_allowed}};
}

TomlFault explained(const Spot& spot, View words) {
  if (contains(words, "redefine")) return repeated(spot, words);
  const bool line_is_over = trimmed(spot.line.substr(std::min(spot.at, spot.line.size()))).empty();
  if (spot.quote && spot.three_quotes)
    return {spot.place_in_text(*spot.quote, 3),
            "these three quotes are not closed",
            {"allowed: a text between two quotes"}};
  if (spot.quote && line_is_over && *spot.quote >= spot.begin)
    return {spot.place(*spot.quote - spot.begin, spot.line.size()),
            "this quote is not closed",
            {"allowed: a text between two quotes of one kind, on one line"}};
  if (contains(words, "escape sequence"))
    return {spot.place(spot.quote ? *spot.quote - spot.begin : spot.at, spot.line.size()),
            "a backslash has a special meaning between double quotes",
            {"allowed: a text in single quotes, or two backslashes for one"}};
  const View line = trimmed(spot.line);
  const std::size_t first = line.empty() ? 0 : static_cast<std::size_t>(line.data() - spot.line.data());
  if (line.starts_with('[') && !contains(line, "=") && spot.opened != '{' &&
      (spot.opened == 0 || spot.opening >= spot.begin))
    return {spot.place(first, spot.line.size()),
            "this is not a table's name",
            {"allowed: [sun] for one table, [[primary]] for each of several"}};
  if (spot.opened == '{' && (line_is_over || spot.line[spot.at] == '#')) {
    const auto equals = spot.text.rfind('=', spot.opening);
    const std::size_t from =
        spot.text.rfind('\n', spot.opening) == View::npos ? 0 : spot.text.rfind('\n', spot.opening) + 1;
    const std::string key =
        shortened(equals == View::npos || equals < from ? View() : trimmed(spot.text.substr(from, equals - from)));
    const std::string above = header_above(spot);
    std::vector<std::string> notes{"allowed: { ... } on one line"};
    if (!key.empty() && !contains(key, "{"))
      notes.push_back(fmt::format("or a table of its own: [{}{}], with its keys on the lines below",
                                  above.empty() ? "" : above + ".", key));
    return {spot.place_in_text(spot.opening, 1), "a '{' must close on the same line", std::move(notes)};
  }
  if (spot.opened == '[' && (spot.opening < spot.begin || line_is_over)) {
    return {spot.place_in_text(spot.opening, 1),
            "this bracket is not closed, or a comma is missing after it",
            {"allowed: [1, 2, 3]"}};
  }
  if (contains(words, "dangling comma"))
    return {spot.place(std::min(spot.line.rfind(',', spot.at), spot.at), spot.at),
            "a comma before the closing brace",
            {"allowed: { a = 1, b = 2 }"}};
  const Piece piece = piece_at(spot);
  if (!piece.key.empty() && !contains(piece.key, ":")) {
    if (piece.value.empty() && spot.at < spot.line.size() && spot.line[spot.at] == '=')
      return {spot.place(spot.at, spot.at + 1), "two '=' in a row", {"allowed: key = value"}};
    return faulty_value(spot, piece);
  }
  if (spot.opened == '[') return faulty_value(spot, piece);
  return faulty_line(spot);
}

}  // namespace

TomlFault explain_toml_fault(std::string_view text, Place stop, std::string_view parsers_words) {
  TomlFault out = explained(spot_at(text, stop), parsers_words);
  out.notes.emplace_back("the rest of the file was not read; fix this first");
  return out;
}

}  // namespace catoptra
