#include "trace/search.h"

namespace catoptra {

namespace {

// A pack whose rays all pass outside the sphere round an instance needs no more.
Mask<Pack> near_instance(const Instance& instance, const Vec3<Pack>& p, const Vec3<Pack>& d) {
  const Vec3<Pack> to{p.x - instance.center_m.x, p.y - instance.center_m.y, p.z - instance.center_m.z};
  const Pack along = dot(to, d);
  return dot(to, to) - along * along <= instance.bounding_radius2_m2;
}

template <class Visit>
void over_packs(const Plan& plan, const Instance& instance, int number, const RayBlock& rays, Visit&& visit) {
  const ComponentPlan& component = plan.components[instance.component];
  std::visit(
      [&](const auto& surface, const auto& outline) {
        for_packs(rays.count, [&](int i) {
          const auto p = rays.point(i), d = rays.direction(i);
          if (!any(near_instance(instance, p, d))) return;
          const Mask<Pack> own = load<Pack>(&rays.from[i]) == Pack(static_cast<double>(number));
          visit(i, hit_distance_m(surface, outline, instance.frame.point_to_local(p),
                                  instance.frame.direction_to_local(d), own));
        });
      },
      component.surface, component.outline);
}

class DirectSearch final : public Search {
 public:
  explicit DirectSearch(const Plan& plan) : plan_(plan) {}

  void nearest(const RayBlock& rays, HitBlock& hits) const override {
    for_packs(rays.count, [&](int i) {
      store(Pack(infinity), &hits.distance[i]);
      store(Pack(-1.0), &hits.instance[i]);
    });
    for (int number = 0; number < static_cast<int>(plan_.instances.size()); ++number) {
      over_packs(plan_, plan_.instances[number], number, rays, [&](int i, const Pack& t) {
        const Pack best = load<Pack>(&hits.distance[i]);
        const auto closer = t < best;
        store(select(closer, t, best), &hits.distance[i]);
        store(select(closer, Pack(static_cast<double>(number)), load<Pack>(&hits.instance[i])), &hits.instance[i]);
      });
    }
  }

  void occluded(const RayBlock& rays, HitBlock& hits) const override {
    for_packs(rays.count, [&](int i) { store(Pack(infinity), &hits.distance[i]); });
    for (int number = 0; number < static_cast<int>(plan_.instances.size()); ++number) {
      over_packs(plan_, plan_.instances[number], number, rays, [&](int i, const Pack& t) {
        store(select(t < infinity, Pack(0.0), load<Pack>(&hits.distance[i])), &hits.distance[i]);
      });
    }
  }

  std::string name() const override { return "each instance in turn"; }

 private:
  const Plan& plan_;
};

}  // namespace

std::unique_ptr<Search> make_direct_search(const Plan& plan) { return std::make_unique<DirectSearch>(plan); }

std::unique_ptr<Search> make_search(const Plan& plan) {
  return static_cast<int>(plan.instances.size()) <= most_instances_tried_in_turn ? make_direct_search(plan)
                                                                                  : make_embree_search(plan);
}

}  // namespace catoptra
