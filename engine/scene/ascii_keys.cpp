#include "scene/ascii_keys.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <string>
#include <utility>
#include <vector>

#include "scene/toml_walker.h"

namespace catoptra {
namespace {

/// What the character that begins at `text` was probably meant to be; empty where nothing is near.
std::string_view hint(std::string_view text) {
  struct Hint {
    std::string_view character, words;
  };
  static constexpr std::string_view quotes = "a text stands between straight quotes: \"...\"";
  static constexpr std::array hints{Hint{"\xE2\x80\x9C", quotes},
                                    Hint{"\xE2\x80\x9D", quotes},
                                    Hint{"\xE2\x80\x9E", quotes},
                                    Hint{"\xE2\x80\x98", quotes},
                                    Hint{"\xE2\x80\x99", quotes},
                                    Hint{"\xC2\xAB", quotes},
                                    Hint{"\xC2\xBB", quotes},
                                    Hint{"\xE2\x88\x92", "a minus is the hyphen, -"},
                                    Hint{"\xE2\x80\x93", "a minus is the hyphen, -"},
                                    Hint{"\xC2\xB0", "a number takes no unit; the key's name has it"},
                                    Hint{"\xC2\xA0", "this is a blank that does not break; use a plain one"}};
  for (const auto& one : hints) {
    if (text.starts_with(one.character)) return one.words;
  }
  return {};
}

}  // namespace

bool refuse_plain_non_ascii(std::string_view toml_text, Problems& problems) {
  TomlWalker walker;
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
      std::vector<std::string> notes{
          "allowed: letters a to z, digits, - and _ in a key; anything in quotes or a comment"};
      if (const auto more = hint(toml_text.substr(at)); !more.empty()) notes.emplace_back(more);
      problems.error({line, std::max(1, column), 1}, "a character beyond ASCII outside quotes", std::move(notes));
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
