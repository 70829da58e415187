#pragma once
// Which instance does a ray meet first, and does anything stand in its way?
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "trace/bundle.h"
#include "trace/plan.h"

namespace catoptra {

class Search {
 public:
  virtual ~Search() = default;
  /// Called once a block, never once a ray.
  virtual void nearest(const RayBlock& rays, HitBlock& hits) const = 0;
  /// Sets distance to 0 where something stands ahead of the ray and to infinity elsewhere.
  virtual void occluded(const RayBlock& rays, HitBlock& hits) const = 0;
  /// Called after the plan has been moved, before the next question.
  virtual void refit(const Moved& /*moved*/) {}
  virtual std::string name() const = 0;
};

/// One that can also take some of a block's rays alone: the hits of the others stay as they are.
class PartSearch : public Search {
 public:
  virtual void nearest_of(const RayBlock& rays, std::span<const int> which, HitBlock& hits) const = 0;
  virtual void occluded_of(const RayBlock& rays, std::span<const int> which, HitBlock& hits) const = 0;
};

/// Few instances are tried one after the other, a block of rays at a time. Many stand in Embree's tree, which culls in
/// floats and leaves the surfaces to us; light that an array's copies throw on as they should tries listed neighbours
/// only. All give the same hits.
inline constexpr int most_instances_tried_in_turn = 24;

/// Which components are there to be met.
enum class Met { all, all_but_covers, covers_alone };
inline bool is_met(const ComponentPlan& component, Met met) {
  return met == Met::all || (component.role == Role::cover) == (met == Met::covers_alone);
}

// Each keeps a reference to the plan.
std::unique_ptr<Search> make_direct_search(const Plan& plan, Met met = Met::all);
/// Of these instances alone.
std::unique_ptr<Search> make_direct_search(const Plan& plan, const std::vector<int>& instances);
std::unique_ptr<PartSearch> make_embree_search(const Plan& plan, Met met = Met::all);
/// Every ray tries each instance of components of few copies, so there must be few of those.
std::unique_ptr<Search> make_candidate_search(const Plan& plan, Met met = Met::all);
bool lists_suit(const Plan& plan, Met met = Met::all);
/// The one that suits the plan.
std::unique_ptr<Search> make_search(const Plan& plan, Met met = Met::all);

}  // namespace catoptra
