#pragma once
#include <array>
#include <string_view>

#include "geometry/surface.h"
#include "numeric/field.h"

namespace catoptra {

/// Flat; the front is the +z side.
struct PlaneShape {
  static constexpr std::string_view kind = "plane";

  static constexpr std::array<Field<PlaneShape>, 0> fields{};

  AnySurface surface() const { return Plane{}; }
};

}  // namespace catoptra
