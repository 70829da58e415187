#include "trace/tally/ledger.h"

#include "geometry/entrance.h"

namespace catoptra {

namespace {

bool starts_light_at_entrance(const ComponentPlan& component) {
  return component.role == Role::primary && entrance_of(component.surface).has_value();
}

std::int64_t next_tile(std::int64_t place) {
  constexpr auto tile = static_cast<std::int64_t>(tile_counts);
  return (place + tile - 1) / tile * tile;
}

}  // namespace

LedgerLayout::LedgerLayout(const Plan& plan, const Scene& scene)
    : components(static_cast<int>(scene.components.size())), owner(plan.components.size()) {
  for (std::size_t i = 0; i < owner.size(); ++i) owner[i] = static_cast<int>(i);
  // Entrances follow the scene's components, in the order of those that have one.
  int wall = 0;
  for (std::size_t i = scene.components.size(); i < owner.size(); ++i) {
    while (!starts_light_at_entrance(plan.components[wall])) ++wall;
    owner[i] = wall++;
  }
  size = first_term + components * static_cast<int>(term_count);
  for (const int index : plan.receivers) {
    const ComponentPlan& component = plan.components[index];
    grids.emplace_back(component.surface, component.outline, scene.components[index].flux_bins);
    ReceiverPlace place;
    place.scalars = size;
    place.flux = next_tile(place.scalars + receiver_scalars);
    place.radii = place.flux + grids.back().bins();
    size = place.radii + radius_bins;
    receivers.push_back(place);
  }
}

}  // namespace catoptra
