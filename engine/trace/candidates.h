#pragma once
// Which copies of an array can rays that leave another copy meet? In a field of mirrors, few: a neighbour or two toward
// the sun, a few toward the receiver. They are listed once a sun; a ray then tries its list, not the field.
#include <span>
#include <vector>

#include "trace/plan.h"

namespace catoptra {

/// The directions that the lists of one instance are good for.
struct LightCone {
  Vec axis{0, 0, 1};  // unit
  double half_angle_rad = 0;

  /// Wider ones would list half the field.
  bool is_narrow() const { return half_angle_rad < 0.3; }
};

/// Toward the sun from any instance of `component`: all of its disc but a thousandth of the light.
LightCone cone_to_sun(const Plan& plan, const ComponentPlan& component);
/// Of the light that the instance `number`, a mirror, throws on: nearly all.
LightCone cone_onward(const Plan& plan, int number);

/// For each instance of one component, the instances of another that a ray within the instance's cone can meet.
class CandidateLists {
 public:
  /// Cones are those of the instances of `from`, in their order. One that is not narrow gets an empty list.
  CandidateLists(const Plan& plan, const ComponentPlan& from, std::span<const LightCone> cones,
                 const ComponentPlan& targets);

  /// `copy` counts from 0 within the component. Instances of the plan; the copy itself where it can meet itself.
  std::span<const int> of(int copy) const { return {list_.data() + starts_[copy], list_.data() + starts_[copy + 1]}; }
  std::size_t size() const { return list_.size(); }

 private:
  std::vector<std::size_t> starts_;
  std::vector<int> list_;
};

}  // namespace catoptra
