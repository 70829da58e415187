#pragma once
// A result's scene, out of the text that its file keeps, for the page's view in space.
#include <string>

#include "files/read_file.h"

namespace catoptra {

/// JSON. `view` is as pictures/scene_view.h says, "null" where the scene can't be built again: by a program that no
/// longer takes its text, say. `rows`, of a schedule: for every sun {"to_sun": […], "copies": […]}, with the copies of
/// a component as in the view, or null for one that never moves; else "null".
struct PageView {
  std::string view = "null", rows = "null";
  std::string why;  // it can't, in words
};
PageView page_view(const StoredFile& file);

}  // namespace catoptra
