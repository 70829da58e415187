#include "scene/plain_text.h"

#include <cstddef>
#include <fmt/format.h>
#include <string>

namespace catoptra {
namespace {

unsigned byte_at(std::string_view text, std::size_t at) {
  return at < text.size() ? static_cast<unsigned char>(text[at]) : 0;
}

/// Bytes of the UTF-8 character that begins here; 0 where none does. RFC 3629, section 4, row by row.
std::size_t character_length(std::string_view text, std::size_t at) {
  const unsigned first = byte_at(text, at), second = byte_at(text, at + 1);
  const auto follows = [&](std::size_t number) {
    for (std::size_t i = 1; i <= number; ++i) {
      if ((byte_at(text, at + i) & 0xC0U) != 0x80U) return false;
    }
    return true;
  };
  if (first < 0x80) return 1;
  if (first >= 0xC2 && first <= 0xDF) return follows(1) ? 2 : 0;
  if (first >= 0xE0 && first <= 0xEF) {
    const bool overlong = first == 0xE0 && second < 0xA0, surrogate = first == 0xED && second > 0x9F;
    return follows(2) && !overlong && !surrogate ? 3 : 0;
  }
  if (first >= 0xF0 && first <= 0xF4) {
    const bool overlong = first == 0xF0 && second < 0x90, beyond = first == 0xF4 && second > 0x8F;
    return follows(3) && !overlong && !beyond ? 4 : 0;
  }
  return 0;
}

}  // namespace

TextCharacter character_at(std::string_view text, std::size_t at) {
  const std::size_t length = character_length(text, at);
  if (length <= 1) return {length, byte_at(text, at)};
  char32_t code = byte_at(text, at) & (0x7FU >> length);
  for (std::size_t i = 1; i < length; ++i) code = (code << 6U) | (byte_at(text, at + i) & 0x3FU);
  return {length, code};
}

bool is_control(char32_t c) {
  return c < 0x20 || (c >= 0x7F && c < 0xA0);
}

bool refuse_non_text(std::string_view text, Problems& problems) {
  int line = 1, column = 1;
  for (std::size_t at = 0; at < text.size();) {
    const auto [length, c] = character_at(text, at);
    if (length == 0 || (is_control(c) && c != '\t' && c != '\n' && c != '\r')) {
      const std::string found = length > 1 ? fmt::format("character U+{:04X}", static_cast<unsigned>(c))
                                           : fmt::format("byte 0x{:02x}", byte_at(text, at));
      problems.hide_lines();
      problems.error({line, column, 1}, "not a text file",
                     {"found: " + found, "allowed: UTF-8 text without control characters"});
      return false;
    }
    if (text[at] == '\n') {
      ++line;
      column = 1;
    } else {
      ++column;
    }
    at += length;
  }
  return true;
}

std::optional<char32_t> control_character(std::string_view text) {
  for (std::size_t at = 0; at < text.size();) {
    const auto [length, c] = character_at(text, at);
    const bool separates = c == 0x2028 || c == 0x2029;
    const bool turns = c == 0x200E || c == 0x200F || (c >= 0x202A && c <= 0x202E) || (c >= 0x2066 && c <= 0x2069);
    if ((is_control(c) && c != '\t') || separates || turns || c == 0xFFFE || c == 0xFFFF) return c;
    at += length == 0 ? 1 : length;
  }
  return std::nullopt;
}

}  // namespace catoptra
