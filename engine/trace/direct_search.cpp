#include <algorithm>

#include "trace/search.h"

namespace catoptra {

namespace {

// Whether any ray of a pack can meet what is inside the sphere round an instance, nearer than `best`.
bool can_meet(const Instance& instance, const Vec3<Pack>& p, const Vec3<Pack>& d, const Pack& best) {
  const Vec3<Pack> to{instance.center_m.x - p.x, instance.center_m.y - p.y, instance.center_m.z - p.z};
  const Pack along = dot(to, d);
  const Vec3<Pack> aside = to - along * d;  // and not dot(to, to) - along^2, in which a small far sphere is lost
  const double radius = instance.bounding_radius_m;
  return any((dot(aside, aside) <= radius * radius) & (along + radius >= 0) & (along - radius <= best));
}

template <class Visit>
void over_packs(const Plan& plan, const Instance& instance, int number, const RayBlock& rays, const LaneArray& best,
                Visit&& visit) {
  const ComponentPlan& component = plan.components[instance.component];
  const double own_number = number;
  const Frame& frame = instance.frame;
  const bool upright = frame.is_upright();
  const auto local = [&](int i) {
    const auto p = rays.point(i);
    return upright ? p - broadcast<Pack>(frame.origin) : frame.point_to_local(p);
  };
  const auto heading = [&](int i) {
    const auto d = rays.direction(i);
    return upright ? d : frame.direction_to_local(d);
  };
  std::visit(
      [&]<Surface S>(const S& surface, const auto& outline) {
        const Stretch own_rays = rays.packs_from(own_number);
        for_packs(rays.count, [&](int i) {
          if (i >= own_rays.begin && i < own_rays.end) {  // a plane is not met again, a quadric at little cost
            if constexpr (MetByQuadratic<S>) {
              const auto d = heading(i);
              if (all(absolute(d.z) > component.steepest_sine)) return;
              visit(i, hit_again_distance_m(surface, outline, local(i), d));
            } else if constexpr (!std::is_same_v<S, Plane>) {
              visit(i, hit_distance_m(surface, outline, local(i), heading(i), Pack(0.0) == Pack(0.0)));
            }
            return;
          }
          if (!can_meet(instance, rays.point(i), rays.direction(i), load<Pack>(&best[i]))) return;
          const Mask<Pack> own = load<Pack>(&rays.from[i]) == Pack(own_number);
          visit(i, hit_distance_m(surface, outline, local(i), heading(i), own));
        });
      },
      component.surface, component.outline);
}

class DirectSearch final : public Search {
 public:
  DirectSearch(const Plan& plan, const std::vector<int>& instances) : plan_(plan), smallest_first_(instances) {
    std::sort(smallest_first_.begin(), smallest_first_.end(),
              [&](int a, int b) { return plan.instances[a].rank < plan.instances[b].rank; });
  }

  void nearest(const RayBlock& rays, HitBlock& hits) const override {
    for_packs(rays.count, [&](int i) {
      store(Pack(infinity), &hits.distance[i]);
      store(Pack(-1.0), &hits.instance[i]);
    });
    for (const int number : smallest_first_) {
      over_packs(plan_, plan_.instances[number], number, rays, hits.distance, [&](int i, const Pack& t) {
        const Pack best = load<Pack>(&hits.distance[i]);
        const auto closer = t < best;
        store(select(closer, t, best), &hits.distance[i]);
        store(select(closer, Pack(static_cast<double>(number)), load<Pack>(&hits.instance[i])), &hits.instance[i]);
      });
    }
  }

  void occluded(const RayBlock& rays, HitBlock& hits) const override {
    for_packs(rays.count, [&](int i) { store(Pack(infinity), &hits.distance[i]); });
    for (const int number : smallest_first_) {
      over_packs(plan_, plan_.instances[number], number, rays, hits.distance, [&](int i, const Pack& t) {
        store(select(t < infinity, Pack(0.0), load<Pack>(&hits.distance[i])), &hits.distance[i]);
      });
    }
  }

  std::string name() const override { return "each instance in turn"; }

 private:
  const Plan& plan_;
  std::vector<int> smallest_first_;
};

}  // namespace

std::unique_ptr<Search> make_direct_search(const Plan& plan, const std::vector<int>& instances) {
  return std::make_unique<DirectSearch>(plan, instances);
}

std::unique_ptr<Search> make_direct_search(const Plan& plan, Met met) {
  std::vector<int> all;
  for (const ComponentPlan& component : plan.components) {
    for (int k = 0; k < component.copies && is_met(component, met); ++k) all.push_back(component.first + k);
  }
  return make_direct_search(plan, all);
}

std::unique_ptr<Search> make_search(const Plan& plan, Met met) {
  int instances = 0;
  for (const ComponentPlan& component : plan.components) instances += is_met(component, met) ? component.copies : 0;
  if (instances <= most_instances_tried_in_turn) return make_direct_search(plan, met);
  if (lists_suit(plan, met)) return make_candidate_search(plan, met);
  return make_embree_search(plan, met);
}

}  // namespace catoptra
