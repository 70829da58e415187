#pragma once
// A component on its way from the file into the scene: names are not yet looked up, places are still known.
#include <string>

#include "scene/model.h"
#include "scene/problem.h"

namespace catoptra {

struct Draft {
  Component component;
  std::string finish, back;  // empty: not given
  bool sound = true;         // all of it was read without an error
  bool has_array = false;
  std::string what;  // "primary 'bowl'"
  struct {
    Place header, name, aperture, finish, back, mount, pose, aim, by, array;
  } at;
};

}  // namespace catoptra
