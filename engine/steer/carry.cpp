#include "steer/carry.h"

#include "scene/steered_pose.h"
#include "steer/way.h"

namespace catoptra {
namespace {

/// The part of a direction across the axis, unit; 0 where there is next to none.
Vec side_of(const Vec& direction, const Vec& axis) {
  const Vec across = direction - dot(direction, axis) * axis;
  const double size = length(across);
  return size > 1e-6 ? (1 / size) * across : Vec{0, 0, 0};
}

}  // namespace

Carry::Carry(const Scene& scene, const Freedom& freedom) : scene_(scene), freedom_(freedom) {
  for (const Component& component : scene.components) {
    const auto* mount = std::get_if<FixedMount>(&component.mount);
    if (component.role != Role::primary || mount == nullptr) continue;
    origin_m_ = mount->position_m;
    axis_ = mount->axis;
    break;
  }
}

double Carry::off_axis_rad(const Vec& to_sun) const {
  return angle_between_rad(to_sun, axis_);
}

Vec Carry::Motion::operator()(const Vec& v) const {
  if (mirrors) return v - (2 * dot(v, across)) * across;
  // O. Rodrigues, as in scene/steered_pose.cpp.
  return cosine * v + sine * cross(axis, v) + ((1 - cosine) * dot(axis, v)) * axis;
}

std::vector<double> Carry::turned(std::span<const double> at, const Vec& from_sun, const Vec& to_sun) const {
  const Vec from = side_of(from_sun, axis_), to = side_of(to_sun, axis_);
  Motion motion{axis_, {}};
  if (length(from) > 0 && length(to) > 0) {
    motion.cosine = dot(from, to);
    motion.sine = dot(axis_, cross(from, to));
  }
  return moved(at, motion);
}

std::vector<double> Carry::mirrored(std::span<const double> at, const Vec& from_sun, const Vec& to_sun) const {
  const Vec from = side_of(from_sun, axis_), to = side_of(to_sun, axis_);
  Motion motion{axis_, {}};
  motion.mirrors = true;
  // On one side both: the plane that holds the suns themselves.
  motion.across = length(from - to) > 1e-3 ? unit(from - to) : cross(axis_, to);
  return moved(at, motion);
}

std::vector<double> Carry::moved(std::span<const double> at, const Motion& motion) const {
  Scene scene = scene_;
  freedom_.apply(at, scene);
  for (const std::size_t i : freedom_.steered()) {
    auto& mount = std::get<SteeredMount>(scene.components[i].mount);
    const Frame before = facing({0, 0, 0}, mount.axis, mount.roll_rad);
    mount.offset_m = origin_m_ + motion(mount.home_m + mount.offset_m - origin_m_) - mount.home_m;
    mount.axis = unit(motion(mount.axis));
    // The mirror image of a right-handed frame is left-handed: its y is turned round.
    const Vec x = motion(before.ex);
    mount.roll_rad = roll_of({{0, 0, 0}, x, cross(mount.axis, x), mount.axis});
  }
  return freedom_.coordinates_of(scene);
}

}  // namespace catoptra
