#include "scene/facts.h"

#include "geometry/area.h"
#include "geometry/vector_area.h"

namespace catoptra {

SceneFacts facts_of(const Scene& scene) {
  SceneFacts out;
  out.layout = place(scene, scene.sun.toward);
  std::span<const Placed> left(out.layout.placed);
  for (const Component& component : scene.components) {
    std::size_t number = 0;
    while (number < left.size() && left[number].component == left[0].component) ++number;
    ComponentFacts facts;
    facts.copies = left.first(number);
    left = left.subspan(number);
    const double aperture_m2 = aperture_area_m2(component.surface, component.outline);
    facts.is_mirror = (component.role == Role::primary || component.role == Role::secondary) && aperture_m2 > 0;
    facts.area_m2 = facts.is_mirror ? aperture_m2 : front_area_m2(component.surface, component.outline);
    if (component.role == Role::primary) {
      const Facing facing(component.surface, component.outline);
      for (const Placed& copy : facts.copies) {
        out.aperture_m2 += aperture_m2;
        out.facing_m2 += facing.area_m2(copy.frame.direction_to_local(out.layout.to_sun));
      }
    }
    if (component.role == Role::receiver) out.receiver_m2 += facts.area_m2 * static_cast<double>(number);
    out.components.push_back(facts);
  }
  return out;
}

}  // namespace catoptra
