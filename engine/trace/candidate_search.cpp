#include <algorithm>
#include <cmath>
#include <fmt/format.h>

#include "trace/candidates.h"
#include "trace/search.h"

namespace catoptra {

namespace {

/// One component whose copies start rays, with what those can meet.
struct Origin {
  int first = 0, end = 0;             // its instances
  std::vector<CandidateLists> lists;  // one for each listed component
};

/// A cone for every instance, in columns; those without a list have one that holds no direction.
struct Cones {
  std::vector<double> x, y, z, least_cosine;

  explicit Cones(std::size_t instances) : x(instances), y(instances), z(instances), least_cosine(instances, 2.0) {}
  void set(std::size_t instance, const LightCone& cone) {
    x[instance] = cone.axis.x, y[instance] = cone.axis.y, z[instance] = cone.axis.z;
    if (cone.is_narrow()) least_cosine[instance] = std::cos(cone.half_angle_rad);
  }
};

struct Outlook {
  Cones cones;
  std::vector<Origin> origins;

  explicit Outlook(const Plan& plan) : cones(plan.instances.size()) {}
};

/// Rays of a block by how they are to be searched.
struct Split {
  std::array<int, block_room> listed, other;
  int listed_count = 0, other_count = 0;
};

/// Ray and instance to be tried together.
struct Pairs {
  static constexpr int room = 512;
  std::array<int, room> ray, instance;
  int count = 0;
};

class CandidateSearch final : public Search {
 public:
  explicit CandidateSearch(const Plan& plan)
      : plan_(plan), everything_(make_embree_search(plan)), to_sun_(plan), onward_(plan) {
    std::vector<int> few;
    for (const ComponentPlan& c : plan.components) {
      if (c.copies <= most_instances_tried_in_turn) {
        for (int k = 0; k < c.copies; ++k) few.push_back(c.first + k);
      }
    }
    const bool in_turn = static_cast<int>(few.size()) <= most_instances_tried_in_turn;
    if (!in_turn) few.clear();
    few_ = make_direct_search(plan, few);
    for (std::size_t c = 0; c < plan.components.size(); ++c) {
      if (!in_turn || plan.components[c].copies > most_instances_tried_in_turn) listed_.push_back(static_cast<int>(c));
    }
    for (const int c : plan.entries.components) {
      const ComponentPlan& component = plan.components[c];
      std::vector<LightCone> onward;
      for (int k = 0; k < component.copies; ++k) onward.push_back(cone_onward(plan, component.first + k));
      add_origin(component, std::vector<LightCone>(component.copies, cone_to_sun(plan, component)), to_sun_);
      add_origin(component, onward, onward_);
    }
  }

  void nearest(const RayBlock& rays, HitBlock& hits) const override {
    few_->nearest(rays, hits);
    Split split;
    choose(rays, onward_.cones, split);
    over_pairs(
        rays, onward_, split, [](int) { return true; },
        [&](int ray, int number, double t) {
          const double best = hits.distance[ray];
          if (t > best || (t == best && ranked_before(hits.instance[ray], number))) return;
          hits.distance[ray] = t;
          hits.instance[ray] = number;
        });
    if (split.other_count > 0)
      everything_->nearest_of(rays, {split.other.data(), split.other.data() + split.other_count}, hits);
  }

  void occluded(const RayBlock& rays, HitBlock& hits) const override {
    few_->occluded(rays, hits);
    Split split;
    choose(rays, to_sun_.cones, split);
    over_pairs(
        rays, to_sun_, split, [&](int ray) { return hits.distance[ray] > 0; },
        [&](int ray, int, double) { hits.distance[ray] = 0; });
    if (split.other_count > 0)
      everything_->occluded_of(rays, {split.other.data(), split.other.data() + split.other_count}, hits);
  }

  std::string name() const override { return "lists of neighbours, " + everything_->name(); }

 private:
  bool ranked_before(double a, int b) const {
    return plan_.instances[static_cast<int>(a)].rank < plan_.instances[b].rank;
  }

  void add_origin(const ComponentPlan& component, const std::vector<LightCone>& cones, Outlook& outlook) {
    Origin origin{component.first, component.first + component.copies, {}};
    for (const int c : listed_) origin.lists.emplace_back(plan_, component, cones, plan_.components[c]);
    for (int k = 0; k < component.copies; ++k) outlook.cones.set(component.first + k, cones[k]);
    outlook.origins.push_back(std::move(origin));
  }

  /// A ray within the cone of the instance that it leaves has a list.
  static void choose(const RayBlock& rays, const Cones& cones, Split& split) {
    for (int i = 0; i < rays.count; ++i) {
      const int from = static_cast<int>(rays.from[i]);
      const bool listed =
          from >= 0 && rays.dx[i] * cones.x[from] + rays.dy[i] * cones.y[from] + rays.dz[i] * cones.z[from] >=
                           cones.least_cosine[from];
      split.listed[split.listed_count] = i;
      split.other[split.other_count] = i;
      split.listed_count += listed ? 1 : 0;
      split.other_count += listed ? 0 : 1;
    }
  }

  /// Calls found(ray, instance, t) for each listed instance that a ray meets.
  template <class Wanted, class Found>
  void over_pairs(const RayBlock& rays, const Outlook& outlook, const Split& split, Wanted&& wanted,
                  Found&& found) const {
    for (std::size_t l = 0; l < listed_.size(); ++l) {
      const ComponentPlan& targets = plan_.components[listed_[l]];
      std::visit(
          [&](const auto& surface, const auto& outline) {
            Pairs pairs;
            const auto solve = [&] {
              solve_pairs(surface, outline, rays, pairs, found);
              pairs.count = 0;
            };
            for (int k = 0; k < split.listed_count; ++k) {
              const int i = split.listed[k], from = static_cast<int>(rays.from[i]);
              if (!wanted(i)) continue;
              const Origin& origin = origin_of(outlook, from);
              for (const int number : origin.lists[l].of(from - origin.first)) {
                if (pairs.count == Pairs::room) solve();
                pairs.ray[pairs.count] = i;
                pairs.instance[pairs.count++] = number;
              }
            }
            solve();
          },
          targets.surface, targets.outline);
    }
  }

  static const Origin& origin_of(const Outlook& outlook, int instance) {
    std::size_t o = 0;
    while (instance >= outlook.origins[o].end || instance < outlook.origins[o].first) ++o;
    return outlook.origins[o];
  }

  template <class Surface, class Outline, class Found>
  void solve_pairs(const Surface& surface, const Outline& outline, const RayBlock& rays, Pairs& pairs,
                   Found& found) const {
    constexpr int width = static_cast<int>(lanes<Pack>);
    for_packs(pairs.count, [&](int first) {
      alignas(64) std::array<std::array<double, width>, 8> gathered;
      for (int l = 0; l < width; ++l) {
        const int at = std::min(first + l, pairs.count - 1), i = pairs.ray[at];
        gathered[0][l] = rays.px[i], gathered[1][l] = rays.py[i], gathered[2][l] = rays.pz[i];
        gathered[3][l] = rays.dx[i], gathered[4][l] = rays.dy[i], gathered[5][l] = rays.dz[i];
        gathered[6][l] = rays.from[i];
        gathered[7][l] = pairs.instance[at];
      }
      const auto column = [&](int c) { return Pack::load_aligned(gathered[c].data()); };
      const Vec3<Pack> p{column(0), column(1), column(2)}, d{column(3), column(4), column(5)};
      const FramePack frame = gather_frames(plan_, gathered[7].data());
      alignas(64) std::array<double, width> t;
      hit_distance_m(surface, outline, frame.point_to_local(p), frame.direction_to_local(d), column(6) == column(7))
          .store_aligned(t.data());
      for (int l = 0; l < width && first + l < pairs.count; ++l) {
        if (t[l] < infinity) found(pairs.ray[first + l], pairs.instance[first + l], t[l]);
      }
    });
  }

  const Plan& plan_;
  std::unique_ptr<Search> few_;  // instances that every ray tries
  std::unique_ptr<PartSearch> everything_;
  std::vector<int> listed_;  // components
  Outlook to_sun_, onward_;
};

}  // namespace

std::unique_ptr<Search> make_candidate_search(const Plan& plan) {
  return std::make_unique<CandidateSearch>(plan);
}

}  // namespace catoptra
