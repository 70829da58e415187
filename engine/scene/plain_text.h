#pragma once
#include <cstddef>
#include <optional>
#include <string_view>

#include "scene/problem.h"

namespace catoptra {

/// What stands at a place of a text that should be UTF-8 (RFC 3629): bytes that the character takes, 0 where none
/// begins; and its code, or the byte itself.
struct TextCharacter {
  std::size_t length;
  char32_t code;
};
TextCharacter character_at(std::string_view text, std::size_t at);

/// Unicode's general category Cc.
bool is_control(char32_t c);

/// Reports the first byte that no text file has: a control character other than tab and line ends, or what is no UTF-8
/// (RFC 3629); false if there is one. Nothing of such a file belongs on a terminal.
bool refuse_non_text(std::string_view text, Problems& problems);

/// The first control character of a text that is meant for one line of a terminal or page, tabs allowed; none where
/// there is none. Of Unicode 15 these count: general category Cc, the line and paragraph separators, and the characters
/// that turn the direction of what follows. `text` is UTF-8.
std::optional<char32_t> control_character(std::string_view text);

}  // namespace catoptra
