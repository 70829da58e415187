#include <algorithm>
#include <cmath>

#include "trace/candidates.h"
#include "trace/search.h"

namespace catoptra {

namespace {

/// A cone for every instance, and for each listed component what rays within it can meet.
struct Outlook {
  // Columns; where there is no list, a cosine that no direction has.
  std::vector<double> axis_x, axis_y, axis_z, least_cosine;
  std::vector<CandidateLists> lists;

  /// The lists of the components that `anew` is true for, one by one of `listed`, are made again.
  void look(const Plan& plan, const std::vector<LightCone>& cones, const std::vector<int>& listed,
            const std::vector<char>& anew) {
    lists.resize(listed.size());
    for (std::size_t l = 0; l < listed.size(); ++l) {
      if (anew[l] != 0) lists[l] = CandidateLists(plan, cones, plan.components[listed[l]]);
    }
    for (auto* column : {&axis_x, &axis_y, &axis_z, &least_cosine}) column->clear();
    for (std::size_t i = 0; i < cones.size(); ++i) {
      const LightCone& cone = cones[i];
      axis_x.push_back(cone.axis.x), axis_y.push_back(cone.axis.y), axis_z.push_back(cone.axis.z);
      const bool whole = std::ranges::all_of(lists, [&](const auto& l) { return l.is_whole(static_cast<int>(i)); });
      least_cosine.push_back(whole ? std::cos(cone.half_angle_rad) : 2.0);
    }
  }
};

/// Rays of a block by how they are to be searched.
struct Split {
  std::array<int, block_room> listed, other;
  int listed_count = 0, other_count = 0;
};

/// Rays and instances to be tried together.
struct Pairs {
  static constexpr int room = 512;
  std::array<int, room + 8> ray, instance;
  int count = 0;
};

constexpr int most_listed_components = 8;

bool is_listed(const ComponentPlan& component, Met met) {
  return is_met(component, met) && component.copies > most_instances_tried_in_turn / 4;
}

class CandidateSearch final : public Search {
 public:
  CandidateSearch(const Plan& plan, Met met)
      : plan_(plan), everything_(make_embree_search(plan, met)), to_sun_(plan.instances.size()), onward_(to_sun_) {
    std::vector<int> few;
    for (int c = 0; c < static_cast<int>(plan.components.size()); ++c) {
      const ComponentPlan& component = plan.components[c];
      if (is_listed(component, met)) {
        listed_.push_back(c);
      } else if (is_met(component, met)) {
        for (int k = 0; k < component.copies; ++k) few.push_back(component.first + k);
      }
    }
    few_ = make_direct_search(plan, few);
    look(std::vector<char>(listed_.size(), 1));
  }

  void refit(const Moved& moved) override {
    everything_->refit(moved);
    // Lists hang on where light starts and goes, and on where their own component's copies stand.
    const bool all = moved.sun || std::ranges::any_of(plan_.entries.components, [&](int c) {
                       return moved.components[static_cast<std::size_t>(c)] != 0;
                     });
    std::vector<char> anew;
    for (const int c : listed_) anew.push_back(all || moved.components[static_cast<std::size_t>(c)] != 0 ? 1 : 0);
    if (std::ranges::count(anew, 1) > 0) look(anew);
  }

  void nearest(const RayBlock& rays, HitBlock& hits) const override {
    few_->nearest(rays, hits);
    Split split;
    choose(rays, onward_lists_, split);
    over_pairs(rays, onward_lists_, split, [&](int ray, int number, double t) {
      const double best = hits.distance[ray];
      if (t > best || (t == best && ranked_before(hits.instance[ray], number))) return;
      hits.distance[ray] = t;
      hits.instance[ray] = number;
    });
    if (split.other_count > 0) everything_->nearest_of(rays, std::span(split.other).first(split.other_count), hits);
  }

  void occluded(const RayBlock& rays, HitBlock& hits) const override {
    few_->occluded(rays, hits);
    Split split;
    choose(rays, sunward_lists_, split);
    over_pairs(rays, sunward_lists_, split, [&](int ray, int, double) { hits.distance[ray] = 0; });
    if (split.other_count > 0) everything_->occluded_of(rays, std::span(split.other).first(split.other_count), hits);
  }

  std::string name() const override { return "lists of neighbours, " + everything_->name(); }

 private:
  void look(const std::vector<char>& anew) {
    for (const int c : plan_.entries.components) {
      const ComponentPlan& component = plan_.components[c];
      for (int number = component.first; number < component.first + component.copies; ++number) {
        to_sun_[number] = cone_to_sun(plan_, component);
        onward_[number] = cone_onward(plan_, number);
      }
    }
    sunward_lists_.look(plan_, to_sun_, listed_, anew);
    onward_lists_.look(plan_, onward_, listed_, anew);
  }

  bool ranked_before(double a, int b) const {
    return plan_.instances[static_cast<int>(a)].rank < plan_.instances[b].rank;
  }

  /// A ray within the cone of the instance that it leaves has a list.
  static void choose(const RayBlock& rays, const Outlook& outlook, Split& split) {
    for (int i = 0; i < rays.count; ++i) {
      const int from = static_cast<int>(rays.from[i]);
      const bool listed = from >= 0 && rays.dx[i] * outlook.axis_x[from] + rays.dy[i] * outlook.axis_y[from] +
                                               rays.dz[i] * outlook.axis_z[from] >=
                                           outlook.least_cosine[from];
      split.listed[split.listed_count] = i;
      split.other[split.other_count] = i;
      split.listed_count += listed ? 1 : 0;
      split.other_count += listed ? 0 : 1;
    }
  }

  /// Calls found(ray, instance, t) for each listed instance that a ray meets.
  template <class Found>
  void over_pairs(const RayBlock& rays, const Outlook& outlook, const Split& split, const Found& found) const {
    for (std::size_t l = 0; l < listed_.size(); ++l) {
      const ComponentPlan& targets = plan_.components[listed_[l]];
      std::visit(
          [&](const auto& surface, const auto& outline) {
            Pairs pairs;
            for (int k = 0; k < split.listed_count; ++k) {
              const int i = split.listed[k];
              const std::span<const int> list = outlook.lists[l].of(static_cast<int>(rays.from[i]));
              // Four at a time, most often with some too many: no branch hangs on how long the list is.
              std::size_t done = 0;
              do {
                for (std::size_t n = 0; n < 4; ++n) {
                  pairs.ray[pairs.count + n] = i;
                  pairs.instance[pairs.count + n] = list.data()[done + n];
                }
                pairs.count += static_cast<int>(std::min<std::size_t>(4, list.size() - done));
                done += 4;
                if (pairs.count >= Pairs::room) {
                  solve(surface, outline, rays, pairs, found);
                  pairs.count = 0;
                }
              } while (done < list.size());
            }
            solve(surface, outline, rays, pairs, found);
          },
          targets.surface, targets.outline);
    }
  }

  template <class Surface, class Outline, class Found>
  void solve(const Surface& surface, const Outline& outline, const RayBlock& rays, Pairs& pairs,
             const Found& found) const {
    constexpr int width = static_cast<int>(lanes<Pack>);
    for (int k = 0; k < width; ++k) pairs.ray[pairs.count + k] = pairs.instance[pairs.count + k] = 0;
    for_packs(pairs.count, [&](int first) {
      const int *const ray = &pairs.ray[first], *const instance = &pairs.instance[first];
      const FramePack frame = gather_frames(plan_, instance);
      const Mask<Pack> own =
          gather(rays.from.data(), ray) == join_lanes(instance[0], instance[1], instance[2], instance[3]);
      alignas(64) std::array<double, width> t;
      hit_distance_m(surface, outline, frame.point_to_local(rays.points(ray)),
                     frame.direction_to_local(rays.directions(ray)), own)
          .store_aligned(t.data());
      for (int l = 0; l < width && first + l < pairs.count; ++l) {
        if (t[l] < infinity) found(ray[l], instance[l], t[l]);
      }
    });
  }

  const Plan& plan_;
  std::unique_ptr<Search> few_;  // instances that every ray tries
  std::unique_ptr<PartSearch> everything_;
  std::vector<int> listed_;                 // components
  std::vector<LightCone> to_sun_, onward_;  // of every instance
  Outlook sunward_lists_, onward_lists_;    // and what stands in them
};

}  // namespace

bool lists_suit(const Plan& plan, Met met) {
  int listed = 0, few = 0;
  for (const ComponentPlan& component : plan.components) {
    if (!is_met(component, met)) continue;
    listed += is_listed(component, met) ? 1 : 0;
    few += is_listed(component, met) ? 0 : component.copies;
  }
  return listed > 0 && listed <= most_listed_components && few <= most_instances_tried_in_turn;
}

std::unique_ptr<Search> make_candidate_search(const Plan& plan, Met met) {
  return std::make_unique<CandidateSearch>(plan, met);
}

}  // namespace catoptra
