#include "trace/tally/ledger.h"

namespace catoptra {

namespace {

std::int64_t next_tile(std::int64_t place) {
  constexpr auto tile = static_cast<std::int64_t>(tile_counts);
  return (place + tile - 1) / tile * tile;
}

}  // namespace

LedgerLayout::LedgerLayout(const Plan& plan, const Scene& scene) : size(fixed_terms) {
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
