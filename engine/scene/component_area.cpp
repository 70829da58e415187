#include "scene/component_area.h"

#include "geometry/entry.h"

namespace catoptra {

double aperture_area_m2(const Component& component) {
  const double outline_m2 = area_m2(component.outline);
  return outline_m2 > 0 ? outline_m2 : front_area_m2(component);
}

double front_area_m2(const Component& component) {
  constexpr int grid = 64;
  // The measure of entry points, averaged over the unit square, is the surface's area.
  return std::visit(
      [](const auto& surface, const auto& outline) {
        double sum_m2 = 0;
        for (int i = 0; i < grid; ++i) {
          for (int j = 0; j < grid; ++j) {
            sum_m2 += entry_point(surface, outline, (i + 0.5) / grid, (j + 0.5) / grid).measure_m2;
          }
        }
        return sum_m2 / (grid * grid);
      },
      component.surface, component.outline);
}

}  // namespace catoptra
