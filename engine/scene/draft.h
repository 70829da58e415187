#pragma once
// A component on its way from the file into the scene: names are not yet looked up.
#include <optional>
#include <string>

#include "geometry/kinds/shapes.h"
#include "scene/facets.h"
#include "scene/model.h"

namespace catoptra {

struct Draft {
  Component component;
  std::optional<AnyCorrectorShape> corrector;  // a shape that waits for the primary that it names
  std::optional<AnyFacets> facets;             // wait for the shape, whose width they need
  // The names that it uses, known even where other keys beside them are wrong.
  std::optional<std::string> finish, back, aim, by, primary;
  bool shape_sound = true, mount_sound = true;  // read without an error; the shape with its aperture
  std::string what;                             // "primary 'bowl'"

  bool has(std::string_view key) const { return component.places->has(key); }
  /// Where a key stands in the text, or what would hold it.
  Place at(std::string_view key) const { return component.place_of(key); }
  Place at_aim() const { return at(has("mount.aim_m") ? "mount.aim_m" : "mount.aim"); }
};

}  // namespace catoptra
