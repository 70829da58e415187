#pragma once
// Whether steered components stand in the way of what else is there.
#include <cstddef>
#include <string>
#include <vector>

#include "scene/model.h"

namespace catoptra {

/// Tests points of each steered component, rim and middle included, against the surfaces of other mirrors and covers
/// and the boxes of receivers. Tests points of the receivers' boxes against the steered component's surface. What a
/// steered component carries is not tested against it. Obstacles are not tested: one of them may be what holds it.
class Clearance {
 public:
  explicit Clearance(const Scene& scene);

  /// By how much the worst place is nearer than clearance_m allows, m; what lies behind a mirror's surface counts as
  /// that deep in it. 0: all is clear. `layout` places the scene, or a copy with other poses.
  double shortfall_m(const Layout& layout) const { return worst(layout).m; }

  /// The same with the two bodies: "pilot" comes too near to "bowl". Empty names where all is clear.
  struct Shortfall {
    double m = 0;
    std::string mover, other;
    double clearance_m = 0;  // that is asked for
  };
  Shortfall worst(const Layout& layout) const;

 private:
  struct Body {
    const Component* component;
    std::vector<Vec> points_m;  // on the surface; of a receiver that is not steered: on its box
    Box box_m;
    double reach_m;  // of a sphere about the origin
    bool is_steered;
    double clearance_m;
  };
  bool is_carried_by(std::size_t i, std::size_t carrier) const;
  double shortfall_m(const Body& mover, const Frame& at, const Body& other, const Frame& there) const;

  std::vector<Body> bodies_;
  std::vector<std::vector<bool>> apart_;  // [steered][other]: to be tested
};

}  // namespace catoptra
