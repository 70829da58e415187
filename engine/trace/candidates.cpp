#include "trace/candidates.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace catoptra {

namespace {

// Light beyond these takes the general search: a Gaussian pair is longer than 3.5 sigma twice in a thousand.
constexpr double sun_share = 0.999, sigmas = 3.5;

double sun_angle_rad(const Plan& plan) {
  return plan.sun_sampler.is_point() ? 0 : std::asin(std::sqrt(plan.sun_sampler.sine_squared(sun_share)));
}

double largest(const PerAxis& rms) {
  return std::fmax(rms.x, rms.y);
}

/// All points that rays from a box can come to, one box at a time.
class Sweep {
 public:
  Sweep(const Instance& from, const LightCone& cone)
      : from_(from), axis_(cone.axis), tangent_(std::tan(cone.half_angle_rad)), reach_m_(length(from.half_m)) {}

  /// False only if no ray comes within `radius_m` of `center`: at the distance z along the axis a ray that started
  /// within reach of it is no farther from it than reach + z tan(half angle).
  bool meets_sphere(const Vec& center, double radius_m) const {
    const Vec v = center - from_.center_m;
    const double along = dot(v, axis_), both = reach_m_ + radius_m;
    if (along + both < 0) return false;
    const double across = both + tangent_ * (along + both);
    return dot(v, v) - along * along <= across * across;
  }

  /// False only if no ray comes into the other's box: the same across each of the boxes' edges, as seen along the
  /// axis.
  bool meets_box(const Instance& other) const {
    const Vec v = other.center_m - from_.center_m;
    const double along = dot(v, axis_) + support(from_, axis_) + support(other, axis_);
    if (along < 0) return false;
    const double growth = tangent_ * along;
    for (const Vec& edge : {from_.frame.ex, from_.frame.ey, other.frame.ex, other.frame.ey}) {
      const Vec across = cross(axis_, edge);
      const double size = length(across);
      if (size < 1e-9) continue;
      const Vec a = (1 / size) * across;
      if (std::fabs(dot(v, a)) > support(from_, a) + support(other, a) + growth) return false;
    }
    return true;
  }

 private:
  static double support(const Instance& i, const Vec& a) {
    return i.half_m.x * std::fabs(dot(i.frame.ex, a)) + i.half_m.y * std::fabs(dot(i.frame.ey, a)) +
           i.half_m.z * std::fabs(dot(i.frame.ez, a));
  }

  const Instance& from_;
  Vec axis_;
  double tangent_, reach_m_;
};

/// The targets in a tree of spheres, halved at the middle of their longest side.
class SphereTree {
 public:
  SphereTree(const Plan& plan, const ComponentPlan& targets) : plan_(plan), order_(targets.copies) {
    std::iota(order_.begin(), order_.end(), targets.first);
    nodes_.reserve(2 * order_.size() / leaf + 2);
    build(0, static_cast<int>(order_.size()));
  }

  /// Until `visit` says no more; whether it never did.
  template <class Visit>
  bool visit(const Sweep& sweep, Visit&& visit) const {
    for (std::size_t n = 0; n < nodes_.size();) {
      const Node& node = nodes_[n];
      if (!sweep.meets_sphere(node.center_m, node.radius_m)) {
        n = node.next;
        continue;
      }
      if (n + 1 == node.next) {  // a leaf
        for (int i = node.begin; i < node.end; ++i) {
          if (!visit(order_[i])) return false;
        }
      }
      ++n;
    }
    return true;
  }

 private:
  static constexpr int leaf = 4;
  struct Node {
    Vec center_m{0, 0, 0};
    double radius_m = 0;
    int begin = 0, end = 0;  // of order_
    std::size_t next = 0;    // the node after all those below this one
  };

  void build(int begin, int end) {
    Box box;
    for (int i = begin; i < end; ++i) {
      box.include(plan_.instances[order_[i]].box_m.low);
      box.include(plan_.instances[order_[i]].box_m.high);
    }
    const std::size_t own = nodes_.size();
    const Vec size = box.high - box.low;
    nodes_.push_back({0.5 * (box.low + box.high), 0.5 * length(size), begin, end, 0});
    if (end - begin > leaf) {
      const auto coordinate = [&](int i) {
        const Vec& c = plan_.instances[i].center_m;
        return size.x >= size.y && size.x >= size.z ? c.x : size.y >= size.z ? c.y : c.z;
      };
      const int middle = begin + (end - begin) / 2;
      std::nth_element(order_.begin() + begin, order_.begin() + middle, order_.begin() + end,
                       [&](int a, int b) { return coordinate(a) < coordinate(b); });
      build(begin, middle);
      build(middle, end);
    }
    nodes_[own].next = nodes_.size();
  }

  const Plan& plan_;
  std::vector<int> order_;
  std::vector<Node> nodes_;
};

/// Whether a ray within the cone can come back to the surface that it leaves. See ComponentPlan::steepest_sine.
bool can_meet_itself(const ComponentPlan& component, const Frame& frame, const LightCone& cone) {
  if (std::holds_alternative<Plane>(component.surface)) return false;
  const double off_axis_rad = std::acos(std::clamp(std::fabs(dot(frame.ez, cone.axis)), 0.0, 1.0));
  return !(std::cos(std::fmin(off_axis_rad + cone.half_angle_rad, pi / 2)) > component.steepest_sine);
}

}  // namespace

LightCone cone_to_sun(const Plan& plan, const ComponentPlan& component) {
  const double turns = component.jitter_turns_sun ? largest(component.jitter_rad) : 0;
  return {plan.sun.toward, sun_angle_rad(plan) + sigmas * turns};
}

LightCone cone_onward(const Plan& plan, int number) {
  const Instance& instance = plan.instances[number];
  const ComponentPlan& component = plan.components[instance.component];
  const auto* mirror = std::get_if<Mirror>(&component.front);
  if (mirror == nullptr) return {};
  const Vec n = instance.frame.ez, s = plan.sun.toward;
  // A normal that leans turns the reflected ray by twice as much.
  const double lean_rad = std::asin(std::fmin(component.steepest_sine, 1.0));
  const double normal_rad = sigmas * (largest(mirror->slope_error_rad) + largest(component.jitter_rad)) + lean_rad;
  const double angle = sun_angle_rad(plan) + 2 * normal_rad + sigmas * largest(mirror->specularity_error_rad);
  return {2 * dot(s, n) * n - s, angle};
}

CandidateLists::CandidateLists(const Plan& plan, const std::vector<LightCone>& cones, const ComponentPlan& targets,
                               int most)
    : is_whole_(plan.instances.size(), 0) {
  const SphereTree tree(plan, targets);
  starts_.reserve(plan.instances.size() + 1);
  starts_.push_back(0);
  for (int number = 0; number < static_cast<int>(plan.instances.size()); ++number) {
    const Instance& instance = plan.instances[number];
    const LightCone& cone = cones[number];
    if (cone.is_narrow()) {
      const Sweep sweep(instance, cone);
      const auto add_if_met = [&](int target) {
        const bool met = target == number ? can_meet_itself(plan.components[instance.component], instance.frame, cone)
                                          : sweep.meets_box(plan.instances[target]);
        if (met) list_.push_back(target);
        return list_.size() - starts_.back() <= static_cast<std::size_t>(most);
      };
      is_whole_[number] = tree.visit(sweep, add_if_met) ? 1 : 0;
      if (is_whole_[number] == 0) list_.resize(starts_.back());
    }
    starts_.push_back(static_cast<std::uint32_t>(list_.size()));
  }
  list_.insert(list_.end(), 4, 0);  // an empty list at the end is read too
}

}  // namespace catoptra
