#include "scene/law.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <utility>

#include "sun/bearing.h"

namespace catoptra {
namespace {

/// Unit vectors across an axis: `up` as near to the vertical as it can be, `side` = axis x up. About an upright axis
/// north takes the vertical's place.
struct Across {
  explicit Across(const Vec& axis) {
    const auto part = [&](const Vec& v) { return v - dot(v, axis) * axis; };
    const Vec vertical = part({0, 0, 1});
    up = unit(length(vertical) > 1e-9 ? vertical : part({0, 1, 0}));
    side = cross(axis, up);
  }
  double angle_rad(const Vec& direction) const { return std::atan2(dot(direction, side), dot(direction, up)); }
  Vec up{0, 0, 1}, side{1, 0, 0};
};

/// Chord and arc alike for small and large angles.
double angle_between_rad(const Vec& a, const Vec& b) {
  return std::atan2(length(cross(a, b)), dot(a, b));
}

PoseRow between(const PoseRow& a, const PoseRow& b, double t) {
  const auto mixed = [t](const auto& x, const auto& y) { return (1 - t) * x + t * y; };
  return {unit(mixed(a.to_sun, b.to_sun)), mixed(a.position_m, b.position_m), unit(mixed(a.axis, b.axis)),
          mixed(a.roll_rad, b.roll_rad)};
}

}  // namespace

void TableMount::complete() {
  for (const auto& row : std::exchange(file.rows, {})) {
    const Vec pointing{row[5], row[6], row[7]};
    if (!(std::fabs(row[1]) <= 90) || !(length(pointing) > 1e-150 && length(pointing) < 1e150)) {
      throw KeyFault("file",
                     fmt::format("a row of {} is no pose: elevation {:.6g}, axis [{:.6g}, {:.6g}, {:.6g}]", file.path,
                                 row[1], pointing.x, pointing.y, pointing.z),
                     {"allowed: an elevation from -90 to 90, an axis of any length but 0"});
    }
    rows.push_back({direction_of(row[0] * units::degree_rad, row[1] * units::degree_rad),
                    {row[2], row[3], row[4]},
                    unit(pointing),
                    row[8] * units::degree_rad});
  }
}

Vec paraxial_image_m(const Vec& centre_m, double radius_m, const Vec& to_sun) {
  return centre_m - (radius_m / 2) * to_sun;
}

std::optional<Fold> bisector(const Vec& image_m, const Vec& target_m, const Vec& to_sun, double most_before_m) {
  // A point F - t s of the ray is as far from P as from F where t = d^2 / (2 d . s), d = F - P.
  const Vec d = image_m - target_m;
  const double along = dot(d, to_sun), apart = length(d);
  if (!(along > 1e-9 * apart) || !(apart > 0)) return std::nullopt;
  const double before_m = apart * apart / (2 * along);
  if (before_m >= most_before_m) return std::nullopt;
  return Fold{image_m - before_m * to_sun, (-1 / apart) * d};
}

std::optional<PoseRow> pose_on_path(std::span<const PoseRow> rows, const Vec& to_sun, double reach_rad) {
  constexpr double widest_gap_rad = 20 * units::degree_rad;
  std::optional<PoseRow> best;
  double nearest_rad = reach_rad;
  const auto consider = [&](const PoseRow& row) {
    const double away_rad = angle_between_rad(row.to_sun, to_sun);
    if (away_rad > nearest_rad) return;
    nearest_rad = away_rad;
    best = row;
  };
  for (std::size_t i = 0; i < rows.size(); ++i) {
    consider(rows[i]);
    if (i + 1 == rows.size()) continue;
    const PoseRow &a = rows[i], &b = rows[i + 1];
    const Vec chord = b.to_sun - a.to_sun;
    const double gap_rad = angle_between_rad(a.to_sun, b.to_sun);
    if (gap_rad == 0 || gap_rad > widest_gap_rad) continue;
    consider(between(a, b, std::clamp(dot(to_sun - a.to_sun, chord) / dot(chord, chord), 0.0, 1.0)));
  }
  return best;
}

double drive_angle_rad(const Vec& axis, const Vec& to_sun) {
  return Across(axis).angle_rad(to_sun) / 2;
}

double noon_setting_rad(const Vec& axis, const Vec& position_m, const Vec& line_m) {
  return Across(axis).angle_rad(line_m - position_m) / 2;
}

Frame row_frame(const Vec& position_m, const Vec& axis, double angle_rad) {
  const Across across(axis);
  const Vec z = std::sin(angle_rad) * across.side + std::cos(angle_rad) * across.up;
  return {position_m, cross(axis, z), axis, z};
}

}  // namespace catoptra
