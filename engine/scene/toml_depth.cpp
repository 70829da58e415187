#include "scene/toml_depth.h"

#include <algorithm>
#include <cstddef>
#include <fmt/format.h>

#include "scene/toml_walker.h"

namespace catoptra {
namespace {

constexpr int most_parts = 20, most_depth = 20;

}  // namespace

bool refuse_deep_nesting(std::string_view toml_text, Problems& problems) {
  TomlWalker walker;
  int line = 1, column = 0, dots = 0, depth = 0;
  std::size_t skip = 0;
  for (std::size_t at = 0; at < toml_text.size(); ++at) {
    const char c = toml_text[at];
    if ((static_cast<unsigned char>(c) & 0xC0U) != 0x80U) ++column;
    if (skip > 0) {
      --skip;
    } else if (walker.is_plain(toml_text, at, skip)) {
      if (c == '.') ++dots;
      if (c == '=' || c == ',' || c == '\n' || c == '[' || c == ']' || c == '{' || c == '}') dots = 0;
      if (c == '[' || c == '{') ++depth;
      if (c == ']' || c == '}') depth = std::max(0, depth - 1);
      if (dots >= most_parts) {
        problems.error({line, column, 1}, "a key of too many parts",
                       {fmt::format("allowed: {} parts with dots between them", most_parts)});
        return false;
      }
      if (depth > most_depth) {
        problems.error({line, column, 1}, "brackets within brackets, too deep",
                       {fmt::format("allowed: {} open brackets", most_depth)});
        return false;
      }
    }
    if (c == '\n') {
      ++line;
      column = 0;
    }
  }
  return true;
}

}  // namespace catoptra
