#include "geometry/scaled.h"

namespace catoptra {

bool has_focal_length(const AnySurface& surface) {
  return scaled(surface, 1).has_value();
}

std::optional<AnySurface> scaled(const AnySurface& surface, double factor) {
  return std::visit([&](const auto& s) -> std::optional<AnySurface> { return s.scaled(factor); }, surface);
}

double extent_m(const AnySurface& surface, const AnyOutline& outline) {
  return std::visit(
      [&]<Surface S>(const S& s) -> double {
        if constexpr (AboveOutline<S>) return s.extent_m(outline);
        return 0;
      },
      surface);
}

double least_scale(const AnySurface& surface, const AnyOutline& outline) {
  return std::visit(
      [&]<Surface S>(const S& s) -> double {
        if constexpr (AboveOutline<S>) return s.least_scale(outline);
        return 0;
      },
      surface);
}

}  // namespace catoptra
