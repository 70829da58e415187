#pragma once
// Other values for numbers that stand in a scene's text. Nothing else of the text changes: comments and layout stay.
#include <cstddef>
#include <span>
#include <stdexcept>
#include <string>

#include "scene/mount.h"
#include "scene/problem.h"

namespace catoptra {

/// A path leads to no number. The message is whole, of several lines: what is wrong, what is allowed there, and the
/// nearest right word. The place is where the path ended in the text, none where it never began.
class WrongPath : public std::runtime_error {
 public:
  WrongPath(Place place, const std::string& message) : std::runtime_error(message), place_(place) {}
  Place place() const { return place_; }

 private:
  Place place_;
};

/// A number as a scene's text holds it.
struct WrittenNumber {
  std::size_t begin = 0, size = 0;  // bytes
  Place place;
  double value = 0;  // in the unit of its key
};

/// `path` names a component's number as `role.component.key.key`, a finish's as `finish.name.key`; an element of a list
/// by its place, from 0, in lists of two or three also as x, y, z: `receiver.tube.mount.position_m.z`. `text` must be
/// that of a scene that can be read. Throws WrongPath.
WrittenNumber find_number(const std::string& text, const std::string& path);

struct NewValue {
  std::string path;
  double value = 0;  // in the unit of the key
};

/// The text with other values in it. Throws WrongPath, and std::runtime_error where TOML can't hold a value.
std::string with_values(const std::string& text, std::span<const NewValue> values);

/// The text with the pose of `mount`, exactly, as that of the component called `component`, which stands on a steered
/// mount; written where it was, else behind the mount's kind. Throws WrongPath where it stands under a header of its
/// own, or in keys with dots.
std::string with_pose(const std::string& text, const std::string& component, const SteeredMount& mount);

}  // namespace catoptra
