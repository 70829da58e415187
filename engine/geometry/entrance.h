#pragma once
// The openings of walls that light enters by.
#include <optional>

#include "geometry/surface.h"

namespace catoptra {

struct Entrance {
  AnyOutline outline;
  double height_m = 0;  // above the surface's origin, along its axis
};

/// None for surfaces that light falls on themselves.
inline std::optional<Entrance> entrance_of(const AnySurface& surface) {
  return std::visit(
      []<Surface S>(const S& s) -> std::optional<Entrance> {
        if constexpr (HasEntrance<S>) return Entrance{s.entrance(), s.profile().height_m()};
        return std::nullopt;
      },
      surface);
}

}  // namespace catoptra
