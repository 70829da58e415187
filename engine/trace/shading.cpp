// Samples without sun: which other bodies keep the light from, and which never had it. docs/theory/tracing.md,
// "Incident power" and "Shading".
#include <algorithm>

#include "trace/tracer.h"

namespace catoptra {

namespace {

/// Marks the listed samples that the component's own surface keeps in shadow: 1 or 0 in `own`, by the list's order. The
/// list has a pack of spare entries.
template <class Surface, class Outline>
void find_own_shadow(const Surface& surface, const Outline& outline, const ContactBlock& at, const int* list, int count,
                     LaneArray& own) {
  for_packs(count, [&](int k) {
    const int* const i = list + k;
    const Vec3<Pack> p{gather(at.px.data(), i), gather(at.py.data(), i), gather(at.pz.data(), i)};
    const Vec3<Pack> d{-gather(at.dx.data(), i), -gather(at.dy.data(), i), -gather(at.dz.data(), i)};
    const Pack t = hit_distance_m(surface, outline, p, d, Mask<Pack>(true));
    store(select(t < infinity, Pack(1.0), Pack(0.0)), &own[k]);
  });
}

std::int64_t fixed_within_bounds(double weight) {
  return to_fixed(std::clamp(weight, -largest_weight, largest_weight));
}

}  // namespace

// What other bodies keep from samples that face the sun is shading. A sample that its own body keeps in shadow loses
// nothing: that light fell elsewhere on the body. Where the rim alone does not tell the incident power, the samples
// add what is missing.
void Tracer::count_shading(const ComponentPlan& component) {
  const ContactBlock& at = contacts_;
  std::int64_t incident = 0;
  const auto how = [&](int i) { return plan_.instances[static_cast<std::size_t>(at.instance[i])].incident; };
  int dark = 0;  // faces the sun, and something stands between; those that their own body may hide stand first in kept_
  int self = 0;
  for (int i = 0; i < at.count; ++i) {
    const double weight = at.weight[i];
    const bool lit = hits_.distance[i] == infinity;
    if (weight > 0 && lit && !component.counts_all) continue;
    if (!(weight > 0)) {
      if (weight < 0 && how(i) == Incident::corrected) incident -= fixed_within_bounds(weight);
    } else if (lit) {
      if (how(i) == Incident::counted) incident += fixed_within_bounds(weight);
    } else {
      kept_[dark++] = i;
      if (!(-at.dz[i] > component.steepest_sine)) std::swap(kept_[self++], kept_[dark - 1]);
    }
  }
  if (dark == 0 && incident == 0) return;
  LaneArray& own = work_[0][0];
  if (self > 0) {
    const std::array<int, block_room> list = [&] {
      std::array<int, block_room> padded{};
      std::copy_n(kept_.begin(), self, padded.begin());
      return padded;
    }();
    std::visit([&](const auto& s, const auto& o) { find_own_shadow(s, o, at, list.data(), self, own); },
               component.surface, component.outline);
  }
  int shaded = 0;
  for (int k = 0; k < dark; ++k) {
    const int i = kept_[k];
    const std::int64_t w = fixed_within_bounds(at.weight[i]);
    if (k < self && own[k] > 0) {
      if (how(i) == Incident::corrected) incident -= w;
    } else {
      kept_[shaded++] = i;
      if (how(i) == Incident::counted) incident += w;
    }
  }
  const int number = number_of(component);
  count(number, LedgerLayout::incident) += incident;
  count_shaders(number, shaded);
}

// Of the first samples in kept_ something stands in the sun: the nearest body is to blame. A shadow ray alone tells
// that there is one, not which.
void Tracer::count_shaders(int shaded_component, int shaded) {
  if (shaded == 0) return;
  shaded_.clear();
  for (int k = 0; k < shaded; ++k) copy_ray(*rays_, kept_[k], shaded_, k);
  shaded_.count = shaded;
  if (plan_.components[shaded_component].copies == 1)
    shaded_.add_stretch({static_cast<double>(plan_.components[shaded_component].first), 0, shaded});
  searches_.shadow.nearest(shaded_, stops_);
  for (int k = 0; k < shaded; ++k) {
    const int stop = static_cast<int>(stops_.instance[k]);
    const int by = stop < 0 ? shaded_component : plan_.component_of[stop];
    count(by, Term::shading) += fixed_within_bounds(contacts_.weight[kept_[k]]);
  }
}

}  // namespace catoptra
