#pragma once
// Numbers that follow from a scene's keys, for its own sun.
#include <span>
#include <vector>

#include "scene/model.h"

namespace catoptra {

struct ComponentFacts {
  std::span<const Placed> copies;  // in SceneFacts::layout
  bool is_mirror = false;          // a primary or secondary with an aperture
  double area_m2 = 0;              // of each copy: a mirror's aperture, another's front
};

struct SceneFacts {
  Layout layout;
  std::vector<ComponentFacts> components;  // in the scene's order
  double aperture_m2 = 0;                  // of all primaries
  double facing_m2 = 0;                    // what they show to the sun
  double receiver_m2 = 0;                  // of all receivers' fronts

  SceneFacts() = default;
  SceneFacts(const SceneFacts&) = delete;  // the spans would point into the other's layout
  SceneFacts(SceneFacts&&) = default;
};

/// The scene is one that read_scene() gave: its own sun can be placed.
SceneFacts facts_of(const Scene& scene);

}  // namespace catoptra
