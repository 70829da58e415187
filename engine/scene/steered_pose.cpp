#include "scene/steered_pose.h"

#include <cmath>
#include <tuple>
#include <utility>

#include "geometry/frame.h"

namespace catoptra {

Vec2 tilt_rad(const SteeredMount& mount) {
  const Frame home = facing({0, 0, 0}, mount.home_axis);
  const Vec normal = cross(mount.home_axis, mount.axis);
  const double sine = length(normal);
  // The sine and cosine together keep all digits at small and large angles.
  const double angle_rad = std::atan2(sine, dot(mount.home_axis, mount.axis));
  if (sine == 0) return {angle_rad, 0};
  return {angle_rad / sine * dot(normal, home.ex), angle_rad / sine * dot(normal, home.ey)};
}

Vec tilted_axis(const SteeredMount& mount, const Vec2& tilt_rad) {
  const double angle_rad = std::hypot(tilt_rad.x, tilt_rad.y);
  if (angle_rad == 0) return mount.home_axis;
  // Turning z about (a, b, 0) / |a, b| moves it toward (b, -a, 0).
  const Frame home = facing({0, 0, 0}, mount.home_axis);
  const Vec toward = (tilt_rad.y / angle_rad) * home.ex - (tilt_rad.x / angle_rad) * home.ey;
  return unit(std::cos(angle_rad) * home.ez + std::sin(angle_rad) * toward);
}

double share_of_tilt(const SteeredMount& mount, const Vec2& tilt_rad) {
  constexpr double rounding_rad = 1e-9;
  const auto share = [](double turn_rad, double limit_rad) {
    if (limit_rad > 0) return std::fmax(0, std::fabs(turn_rad) - rounding_rad) / limit_rad;
    return std::fabs(turn_rad) <= rounding_rad ? 0 : infinity;
  };
  return std::hypot(share(tilt_rad.x, mount.tilt_rad.x), share(tilt_rad.y, mount.tilt_rad.y));
}

namespace {

/// Angle about the axis from x of the unrolled frame to x of the frame that tilting alone has carried here from home.
double carried_roll_rad(const SteeredMount& mount, const Vec2& tilt_rad) {
  const Frame home = facing({0, 0, 0}, mount.home_axis);
  const double angle_rad = std::hypot(tilt_rad.x, tilt_rad.y);
  Vec x = home.ex;
  if (angle_rad > 0) {
    // O. Rodrigues: v cos a + (k x v) sin a + k (k . v) (1 - cos a), k the turn's axis.
    const Vec k = (tilt_rad.x / angle_rad) * home.ex + (tilt_rad.y / angle_rad) * home.ey;
    const double s = std::sin(angle_rad), c = std::cos(angle_rad);
    x = c * home.ex + s * cross(k, home.ex) + ((1 - c) * dot(k, home.ex)) * k;
  }
  const Frame level = facing({0, 0, 0}, tilted_axis(mount, tilt_rad));
  return std::atan2(dot(x, level.ey), dot(x, level.ex));
}

}  // namespace

double twist_rad(const SteeredMount& mount) {
  return std::remainder(mount.roll_rad - carried_roll_rad(mount, tilt_rad(mount)), 2 * pi);
}

void turn_to(SteeredMount& mount, const Vec2& tilt_rad, double twist_rad) {
  mount.axis = tilted_axis(mount, tilt_rad);
  mount.roll_rad = std::remainder(twist_rad + carried_roll_rad(mount, tilt_rad), 2 * pi);
}

Frame turned_about(const Frame& frame, int axis, double angle_rad) {
  const double s = std::sin(angle_rad), c = std::cos(angle_rad);
  const auto pair = [&](const Vec& a, const Vec& b) { return std::pair{c * a + s * b, c * b - s * a}; };
  Frame out = frame;
  if (axis == 0) std::tie(out.ey, out.ez) = pair(frame.ey, frame.ez);
  if (axis == 1) std::tie(out.ez, out.ex) = pair(frame.ez, frame.ex);
  if (axis == 2) std::tie(out.ex, out.ey) = pair(frame.ex, frame.ey);
  return out;
}

double roll_of(const Frame& frame) {
  const Frame level = facing({0, 0, 0}, frame.ez);
  return std::atan2(dot(frame.ex, level.ey), dot(frame.ex, level.ex));
}

}  // namespace catoptra
