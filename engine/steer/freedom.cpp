#include "steer/freedom.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

#include "geometry/bounds.h"
#include "scene/steered_pose.h"

namespace catoptra {

Freedom::Freedom(const Scene& scene) {
  for (std::size_t i = 0; i < scene.components.size(); ++i) {
    names_.push_back(scene.components[i].name);
    const auto* mount = std::get_if<SteeredMount>(&scene.components[i].mount);
    if (mount == nullptr) continue;
    steered_.push_back(i);
    const auto add = [&](Kind kind, double limit, double rest_rad = 0) {
      if (limit > 0) coordinates_.push_back({i, kind, limit, rest_rad});
    };
    add(Kind::east, mount->travel_m.x);
    add(Kind::north, mount->travel_m.y);
    add(Kind::up, mount->travel_m.z);
    add(Kind::tilt_x, mount->tilt_rad.x);
    add(Kind::tilt_y, mount->tilt_rad.y);
    add(Kind::twist, mount->roll_limit_rad, twist_rad(*mount));
  }
}

std::string Freedom::name(std::size_t coordinate) const {
  static constexpr std::array<std::string_view, 6> words{"east", "north", "up", "tilt about x", "tilt about y", "roll"};
  const Coordinate& c = coordinates_[coordinate];
  return fmt::format("{}: {}", names_[c.component], words[static_cast<std::size_t>(c.kind)]);
}

double Freedom::position_of(const Coordinate& c, const SteeredMount& mount) {
  switch (c.kind) {
    case Kind::east:
      return mount.offset_m.x / c.limit;
    case Kind::north:
      return mount.offset_m.y / c.limit;
    case Kind::up:
      return mount.offset_m.z / c.limit;
    case Kind::tilt_x:
      return tilt_rad(mount).x / c.limit;
    case Kind::tilt_y:
      return tilt_rad(mount).y / c.limit;
    case Kind::twist:
      return std::remainder(twist_rad(mount) - c.rest_rad, 2 * pi) / c.limit;
  }
  return 0;
}

std::vector<double> Freedom::coordinates_of(const Scene& scene) const {
  std::vector<double> out;
  for (const auto& c : coordinates_)
    out.push_back(std::clamp(position_of(c, std::get<SteeredMount>(scene.components[c.component].mount)), -1.0, 1.0));
  return out;
}

void Freedom::apply(std::span<const double> coordinates, Scene& scene) const {
  for (std::size_t begin = 0; begin < coordinates_.size();) {
    const std::size_t component = coordinates_[begin].component;
    auto& mount = std::get<SteeredMount>(scene.components[component].mount);
    Vec2 tilt = tilt_rad(mount);
    double twist = twist_rad(mount);
    bool turns = false;
    std::size_t i = begin;
    for (; i < coordinates_.size() && coordinates_[i].component == component; ++i) {
      const Coordinate& c = coordinates_[i];
      const double value = coordinates[i] * c.limit;
      turns = turns || c.kind >= Kind::tilt_x;
      switch (c.kind) {
        case Kind::east:
          mount.offset_m.x = value;
          break;
        case Kind::north:
          mount.offset_m.y = value;
          break;
        case Kind::up:
          mount.offset_m.z = value;
          break;
        case Kind::tilt_x:
          tilt.x = value;
          break;
        case Kind::tilt_y:
          tilt.y = value;
          break;
        case Kind::twist:
          twist = c.rest_rad + value;
          break;
      }
    }
    begin = i;
    if (!turns) continue;  // keeps the scene's axis to the last bit
    const double share = share_of_tilt(mount, tilt);
    if (share > 1) tilt = {tilt.x / share, tilt.y / share};
    turn_to(mount, tilt, twist);
  }
}

double travel_between_m(const Scene& one, const Scene& other, const Freedom& freedom) {
  double sum_m = 0;
  for (const std::size_t i : freedom.steered()) {
    const Component& component = one.components[i];
    const auto& a = std::get<SteeredMount>(component.mount);
    const auto& b = std::get<SteeredMount>(other.components[i].mount);
    const double turn_rad = std::atan2(length(cross(a.axis, b.axis)), dot(a.axis, b.axis));
    const Box own = bounds_of(component.surface, component.outline);
    sum_m += length(a.offset_m - b.offset_m) + std::fmax(length(own.low), length(own.high)) * turn_rad;
  }
  return sum_m;
}

}  // namespace catoptra
