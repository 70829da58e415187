#pragma once
// The box round a component's surface, in its own frame.
#include "geometry/surface.h"

namespace catoptra {

inline Box bounds_of(const AnySurface& surface, const AnyOutline& outline) {
  return std::visit([&](const auto& s) { return s.box(outline); }, surface);
}

}  // namespace catoptra
