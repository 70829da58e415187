#pragma once
// Checks that need more than one key: names that must exist, limits, bodies in each other's way.
#include <vector>

#include "scene/draft.h"
#include "scene/model.h"
#include "scene/problem.h"

namespace catoptra {

/// Warns of a scene whose light has nowhere to go.
void check_roles(const std::vector<Draft>& drafts, Problems& problems);

/// Names of carriers and aim points, apertures against surfaces, poses against limits, roles against finishes. Gives
/// carried components of `scene` their carrier's array. `drafts` stand in the order of the scene's components.
void check_names_and_limits(const std::vector<Draft>& drafts, Scene& scene, Problems& problems);

/// What stands where for the scene's own sun: mounts that can't do it, secondaries that shade a primary, receivers in
/// or behind a mirror.
void check_layout(const std::vector<Draft>& drafts, const Scene& scene, Problems& problems);

/// What no one can mean though each key is allowed: wrong units, sides turned away, mounts and arrays that are half
/// done. Warnings alone, for a scene without errors.
void check_sense(const std::vector<Draft>& drafts, const Scene& scene, Problems& problems);

}  // namespace catoptra
