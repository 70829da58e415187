#pragma once
// A mirror made a little too large or too small, which is what an error of its focal length comes to.
#include <optional>

#include "geometry/surface.h"

namespace catoptra {

/// Whether a surface of this kind gathers light: not a plane, a closed surface (tube, cone, ball) or the wall of a
/// compound parabola.
bool has_focal_length(const AnySurface& surface);

/// `surface` with all its lengths `factor` times as long, about its origin; its outline is not part of it. None where
/// it has no focal length.
std::optional<AnySurface> scaled(const AnySurface& surface, double factor);

/// How far an outline reaches from the axis of the surface above it (a trough: from its plane of symmetry), m; 0 for
/// closed surfaces.
double extent_m(const AnySurface& surface, const AnyOutline& outline);

/// The smallest factor at which a surface still reaches across `outline`, where spheres and ellipsoids have their
/// equator; 0 for others.
double least_scale(const AnySurface& surface, const AnyOutline& outline);

}  // namespace catoptra
