#pragma once
// The parts of a setting, "path=value": where its path leads in a scene, and its value as TOML.
#include <cstddef>
#include <functional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <toml++/toml.h>
#include <vector>

#include "scene/write_setting.h"

namespace catoptra {

/// Something is wrong with a setting, before the scene is read with it.
class SettingFault : public std::runtime_error {
 public:
  /// `at` and `width` are bytes of the setting.
  SettingFault(std::size_t at, std::size_t width, const std::string& message, std::vector<std::string> notes)
      : std::runtime_error(message), at_(at), width_(width), notes_(std::move(notes)) {}
  std::size_t at() const { return at_; }
  std::size_t width() const { return width_; }
  const std::vector<std::string>& notes() const { return notes_; }

 private:
  std::size_t at_, width_;
  std::vector<std::string> notes_;
};

struct SettingParts {
  std::size_t path_size = 0, value_at = 0;  // bytes
};

/// Throws SettingFault where the setting is no line of text with a path and a value.
SettingParts parts_of(const std::string& setting);

struct FoundPath {
  SettingPath where;
  std::string end;  // a note that says where the path ended; empty at the root
};

/// `place_words` names the place of a node for a message; empty for the root. Throws SettingFault where the path leads
/// to nothing that can be set.
FoundPath find_path(const toml::table& root, std::string_view path,
                    const std::function<std::string(const toml::node&)>& place_words);

/// The value that begins at `at`. Throws SettingFault where it is no TOML but begins as such.
SettingValue value_of(const std::string& setting, std::size_t at);

}  // namespace catoptra
