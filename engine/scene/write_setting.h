#pragma once
// Writes one value into a TOML text and leaves the other bytes alone.
#include <cstddef>
#include <string>
#include <vector>

#include "scene/patched_text.h"
#include "scene/toml_layout.h"

namespace catoptra {

/// Where a setting leads in a text.
struct SettingPath {
  KeyPath path;                       // of what the text has already
  KeyPath missing;                    // keys behind it that the text lacks
  std::size_t last_at = 0;            // where the setting has the last key of `path`
  std::vector<std::size_t> parts_at;  // where it has each of those that are missing
};

struct SettingValue {
  std::string text;    // as TOML, on one line
  std::size_t at = 0;  // where the setting has it
  bool copied = true;  // the setting has it byte by byte
};

/// Over the value that stands at `path`, or as new keys of the table there. A table that has statements of its own is
/// taken out first, and written as one value. `patch` is the number of the setting.
void write_setting(PatchedText& text, int patch, SettingPath where, const SettingValue& value);

}  // namespace catoptra
