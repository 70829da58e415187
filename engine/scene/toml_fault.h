#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "scene/problem.h"

namespace catoptra {

struct TomlFault {
  Place place;
  std::string message;
  std::vector<std::string> notes;
};

/// What is wrong with a text that is not TOML 1.0, in words for someone who does not know TOML. `stop` is the place
/// where the parser gave up and `parsers_words` are its own, of which the kind of fault is taken where the text alone
/// does not show it.
TomlFault explain_toml_fault(std::string_view text, Place stop, std::string_view parsers_words);

}  // namespace catoptra
