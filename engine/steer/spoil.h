#pragma once
// Errors of a moving component, put into a scene: as built or driven wrongly, not as a spread over its surface.
#include <cstddef>
#include <vector>

#include "scene/model.h"

namespace catoptra {

enum class ErrorKind { pointing, position, slope, focus, curvature };

/// The scene with what follows a law (and stands once) held where that law has it for the scene's sun, as on a steered
/// mount, so that it can stand wrongly. Tracking jitter is kept; bias is part of the pose. Throws what place() throws.
Scene held(const Scene& scene);

/// Turns the component, which must be on a steered mount, about its own x, y or z (0, 1, 2) through its origin,
/// right-handed.
void point_wrongly(Scene& scene, std::size_t component, int axis, double error_rad);

/// Moves it along the scene's x, y or z.
void move_wrongly(Scene& scene, std::size_t component, int axis, double error_m);

/// Adds a slope error, independent of the front's own and the same about both axes. The front must be a mirror.
void roughen(Scene& scene, std::size_t component, double error_rad);

/// Makes the mirror's lengths, its focal length among them, larger by this share; see geometry/scaled.h. Does nothing
/// to what has no focal length.
void refocus(Scene& scene, std::size_t component, double share);

/// Bends a flat mirror to this curvature, as a paraboloid; positive: hollow.
void bend(Scene& scene, std::size_t component, double curvature_per_m);

/// Which of these errors the component can have.
std::vector<ErrorKind> possible_errors(const Scene& scene, const Component& component);

}  // namespace catoptra
