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
  std::string finish, back;  // empty: not given
  std::optional<PendingCorrector> corrector;
  bool sound = true;  // all of it was read without an error
  bool has_array = false;
  std::string what;  // "primary 'bowl'"
  struct {
    Place header, name, shape, aperture, finish, back, mount, pose, aim, by, array;
  } at;
};

}  // namespace catoptra
