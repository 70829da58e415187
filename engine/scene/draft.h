#pragma once
// A component on its way from the file into the scene: names are not yet looked up, places are still known.
#include <optional>
#include <string>

#include "geometry/kinds/shapes.h"
#include "scene/model.h"
#include "scene/problem.h"

namespace catoptra {

/// A shape that waits for the primary that it names.
struct PendingCorrector {
  AnyCorrectorShape shape;
  Place place, primary, through, beam;
};

struct Draft {
  Component component;
  std::optional<PendingCorrector> corrector;
  // The names that it uses, known even where other keys beside them are wrong.
  std::optional<std::string> finish, back, aim, by, primary;
  bool shape_sound = true, mount_sound = true;  // read without an error; the shape with its aperture
  bool has_array = false;
  std::string what;  // "primary 'bowl'"
  struct {
    Place header, name, shape, aperture, finish, back, mount, pose, jitter, aim, by, primary, array;
  } at;
};

}  // namespace catoptra
