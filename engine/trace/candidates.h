#pragma once
// Which copies of an array can rays that leave another copy meet? In a field of mirrors, few: a neighbour or two toward
// the sun, a few toward the receiver. They are listed once a sun; a ray then tries its list, not the field.
#include <cstdint>
#include <span>
#include <vector>

#include "trace/plan.h"

namespace catoptra {

/// The directions that the lists of one instance are good for.
struct LightCone {
  Vec axis{0, 0, 1};  // unit
  double half_angle_rad = pi;

  /// Wider ones would list half the field.
  bool is_narrow() const { return half_angle_rad < 0.3; }
};

/// Toward the sun from any instance of `component`: all of its disc but a thousandth of the light.
LightCone cone_to_sun(const Plan& plan, const ComponentPlan& component);
/// Of the light that the instance `number`, a mirror, throws on: nearly all.
LightCone cone_onward(const Plan& plan, int number);

/// A ray that would have to try more than these is sooner done in the tree of all instances. It also bounds what lists
/// cost: at the edge of a large field light that rises little passes over thousands of mirrors.
inline constexpr int most_listed = 64;

/// For each instance of a plan, the instances of one component that a ray within the instance's cone can meet.
class CandidateLists {
 public:
  /// `cones` are those of all instances. One that is not narrow gets an empty list, and so does one that holds more
  /// than `most` targets: is_whole() tells. Time and memory grow as instances x `most` at worst, whatever the field's
  /// size.
  CandidateLists(const Plan& plan, const std::vector<LightCone>& cones, const ComponentPlan& targets,
                 int most = most_listed);
  CandidateLists() = default;  // of no instance

  /// False where the cone is wide or holds too many.
  bool is_whole(int instance) const { return is_whole_[instance] != 0; }

  /// Instances of the plan: the instance itself among them if it can meet itself. Four numbers more may be read.
  std::span<const int> of(int instance) const {
    return {list_.data() + starts_[instance], list_.data() + starts_[instance + 1]};
  }

 private:
  std::vector<std::uint32_t> starts_;
  std::vector<int> list_;
  std::vector<char> is_whole_;
};

}  // namespace catoptra
