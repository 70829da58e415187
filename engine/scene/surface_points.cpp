#include "scene/surface_points.h"

#include "geometry/entry.h"

namespace catoptra {

std::vector<Vec> points_on(const Component& component, std::span<const double> us, std::span<const double> vs) {
  std::vector<Vec> out;
  std::visit(
      [&](const auto& surface, const auto& outline) {
        for (const double u : us) {
          for (const double v : vs) out.push_back(entry_point(surface, outline, u, v).point_m);
        }
      },
      component.surface, component.outline);
  return out;
}

std::optional<double> height_over_m(const Component& component, const Vec& local) {
  return std::visit(
      [&]<Surface S>(const S& surface, const auto& outline) -> std::optional<double> {
        if constexpr (AboveOutline<S>) {
          if (outline.contains(local.x, local.y)) return local.z - surface.sag(local.x, local.y);
        }
        return std::nullopt;
      },
      component.surface, component.outline);
}

}  // namespace catoptra
