#pragma once
// Which way to go from a pose that brings no light at all. Method: docs/theory/steering.md, "Where no light arrives".
#include <vector>

#include "geometry/entry.h"
#include "scene/model.h"

namespace catoptra {

/// Some rays of the sun's centre, by perfect mirrors, from all over the primaries: how near they pass to where they
/// should go, as a number from 0 to 1. It is 0 nowhere that a primary faces the sun, and it falls off slowly, so that
/// there is always something to climb. It knows no shadows and no losses: a start for a search, never its judge.
class Guide {
 public:
  /// Keeps a reference to the scene's components; poses are those of the layouts that it is asked for.
  explicit Guide(const Scene& scene);

  /// The mean over the rays, by power. A ray is worth up to a tenth while no steered secondary has met it, by how far
  /// it passes from one; then, or where none is steered, up to 1, by how far it passes from a receiver.
  double operator()(const Layout& layout) const;

 private:
  struct Body {
    const Component* component;
    std::vector<EntryPoint<double>> entries;  // of primaries
    Vec middle_m;                             // of its bounds
    double reach_m;                           // from there
    AnyFinish front;
    bool is_steered_secondary;
  };
  /// Something of a layout that rays may meet or shall pass near.
  struct Target {
    const Body* body;
    const Frame* frame;
    Vec middle_m;  // in the world
  };
  struct Targets {
    std::vector<Target> secondaries, receivers;
  };
  struct Ray {
    Vec at_m, toward;
  };
  Targets targets_of(const Layout& layout) const;
  double worth(const Targets& targets, Ray ray) const;

  std::vector<Body> bodies_;
  bool needs_secondary_ = false;  // some mirror beside the primaries is steered
};

}  // namespace catoptra
