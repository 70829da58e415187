#pragma once
// The laws behind the mounts of scene/law_mount.h, as functions of plain numbers. docs/theory/steering.md derives them.
#include <optional>
#include <span>

#include "geometry/frame.h"
#include "scene/law_mount.h"

namespace catoptra {

/// Where a sphere images the sun by its paraxial rays: F = C - (R / 2) s. `to_sun` is unit.
Vec paraxial_image_m(const Vec& centre_m, double radius_m, const Vec& to_sun);

/// A flat mirror before the image that folds it onto a point.
struct Fold {
  Vec position_m;  // where the paraxial ray through the sphere's centre meets the mirror
  Vec axis;        // unit; the mirror's normal, toward the light that comes
};

/// The plane that halves the way from the image to `target_m`, met before the image by the ray that runs along the
/// sun's axis. None where the target does not lie on the light's side of the image, as then no plane does it, or where
/// the mirror would stand `most_before_m` or more before the image: a sphere's paraxial light comes from R / 2 before.
std::optional<Fold> bisector(const Vec& image_m, const Vec& target_m, const Vec& to_sun, double most_before_m);

/// The pose at the point of the rows' path that lies nearest to the sun, linear between rows; none where that point is
/// further than `reach_rad` off. Neighbours further apart than 20 degrees are not joined, so that a table may hold
/// several days one after the other.
std::optional<PoseRow> pose_on_path(std::span<const PoseRow> rows, const Vec& to_sun, double reach_rad);

/// How far the drive of linear Fresnel rows has turned since the sun stood in the plane of the axis and the vertical:
/// half the angle between that plane and the sun, across the axis, right-handed about `axis` (unit).
double drive_angle_rad(const Vec& axis, const Vec& to_sun);
/// The angle at which a row at `position_m` is set when the drive stands at 0: its normal halves the angle between the
/// vertical and the line through `line_m`, seen along the axis.
double noon_setting_rad(const Vec& axis, const Vec& position_m, const Vec& line_m);
/// The frame of a row whose normal is turned by `angle_rad` from the vertical about `axis`, which becomes y.
Frame row_frame(const Vec& position_m, const Vec& axis, double angle_rad);

}  // namespace catoptra
